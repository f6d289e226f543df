using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Stops;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Brakes;

/// <summary>The motor pushes against the closed brake: what it proves, and what breaks it off.</summary>
public sealed class BrakeProofTests
{
    private const double Slack = 0.01;

    [Theory]
    [InlineData("cia402")]
    [InlineData("bits")]
    public void Proof_OfAGoodBrake_HoldsTheTorqueBothWaysAndEndsReady(string coding)
    {
        var world = Ready(seed: 1, coding);
        var (most, least, stayed, openUnderPush) = (0.0, 0.0, world.Drive("slide").Plant.Position, false);
        var id = world.Give("slide", AxisCommandKind.ProveBrake);
        world.RunUntil(() =>
        {
            var plant = world.Drive("slide").Plant;
            (most, least) = (Math.Max(most, plant.Torque), Math.Min(least, plant.Torque));
            openUnderPush |= !plant.BrakeClosed && Math.Abs(plant.Torque) > 40;
            Assert.True(plant.Powered);
            return world.EndOf(id).Outcome != Outcome.None;
        }, 10, "proof ends");

        var end = world.EndOf(id);
        Assert.True(end.Outcome == Outcome.Done, end.ToString());
        Assert.InRange(end.Value, 0, 0.2);
        Assert.InRange(most, 59, 60 + Slack);
        Assert.InRange(least, -60 - Slack, -59);
        Assert.False(openUnderPush, "the brake was open while the motor pushed");
        Assert.Equal((AxisState.Ready, AxisDetail.None), (world.Snapshot("slide").State, world.Snapshot("slide").Detail));
        Assert.False(world.Drive("slide").Plant.BrakeClosed);
        Assert.Equal(stayed, world.Drive("slide").Plant.Position, 0.2);
        Assert.Empty(world.Faults);
        world.Do("slide", AxisCommandKind.Move, 120);
    }

    /// <summary>Nothing pulls at the axis: the brake is closed and the torque taken, as after any fault.</summary>
    [Fact]
    public void Proof_OfABrakeThatSlipsAboveFortyPercent_IsAGraveFaultWithTheBrakeClosed()
    {
        var world = Ready(seed: 2, hasLoad: false);
        world.Drive("slide").Plant.BrakeTorque = 40;
        var from = world.Drive("slide").Plant.Position;
        var id = world.Give("slide", AxisCommandKind.ProveBrake);
        world.RunUntil(() => world.EndOf(id).Outcome != Outcome.None, 10, "proof ends");

        Assert.Equal((Outcome.Failed, FaultCode.BrakeProofFailed), (world.EndOf(id).Outcome, world.EndOf(id).Fault));
        Assert.False(FaultCatalogue.MayRecover(FaultCode.BrakeProofFailed));
        world.RunUntil(() => !world.Drive("slide").Plant.Powered, 3, "torque off");
        Assert.True(world.Drive("slide").Plant.BrakeClosed);
        world.Run(2);
        Assert.InRange(Math.Abs(world.Drive("slide").Plant.Position - from), 0.2, 0.8 + 0.5);
        Assert.Single(world.Faults);
    }

    /// <summary>A drive that keeps its torque below what it was allowed proves nothing.</summary>
    [Fact]
    public void Proof_WhoseTorqueNeverComes_FailsInTime()
    {
        var world = Ready(seed: 4, hasLoad: false);
        world.Drive("slide").LargestTorqueLimit = 30;
        var id = world.Give("slide", AxisCommandKind.ProveBrake);
        world.RunUntil(() => world.EndOf(id).Outcome != Outcome.None, 15, "proof ends");
        Assert.Equal(FaultCode.BrakeProofFailed, world.EndOf(id).Fault);
        world.RunUntil(() => !world.Drive("slide").Plant.Powered, 3, "torque off");
        Assert.True(world.Drive("slide").Plant.BrakeClosed);
    }

    [Theory]
    [InlineData(0.03)]
    [InlineData(0.3)]
    [InlineData(0.9)]
    [InlineData(1.2)]
    [InlineData(1.4)]
    public void Stop_DuringAProof_LeavesTheBrakeClosedAndTakesTheTorque(double after)
    {
        foreach (var how in new Action<SimulatedWorld>[] { Stop, Trip, Disable })
        {
            var world = Ready(seed: 5);
            var place = world.Drive("slide").Plant.Position;
            var id = world.Give("slide", AxisCommandKind.ProveBrake);
            world.Run(after);
            how(world);
            world.RunUntil(() => !world.Drive("slide").Plant.Powered, 3, "torque off");
            Assert.Equal(Outcome.Replaced, world.EndOf(id).Outcome);
            Assert.True(world.Drive("slide").Plant.BrakeClosed);
            world.Run(1);
            Assert.Equal(place, world.Drive("slide").Plant.Position, 0.3);
            Assert.Equal(AxisState.Disabled, world.State("slide"));
            Assert.Empty(world.Faults);
        }

        static void Stop(SimulatedWorld world) => world.Board.Latch.RequestStop(0);
        static void Trip(SimulatedWorld world) => world.Trip("guard");
        static void Disable(SimulatedWorld world) => world.Give("slide", AxisCommandKind.Disable);
    }

    [Fact]
    public void Fault_DuringAProof_LeavesTheBrakeClosed()
    {
        var world = Ready(seed: 6);
        var id = world.Give("slide", AxisCommandKind.ProveBrake);
        world.Run(0.4);
        world.Drive("slide").Trip(0x3220);
        world.RunUntil(() => world.State("slide") == AxisState.Faulted && !world.Drive("slide").Plant.Powered, 3, "faulted and off");
        Assert.Equal((Outcome.Failed, FaultCode.UnderVoltage), (world.EndOf(id).Outcome, world.EndOf(id).Fault));
        Assert.True(world.Drive("slide").Plant.BrakeClosed);

        // The bit is taken back with the torque: what follows opens the brake as ever.
        world.Do("slide", AxisCommandKind.Reset);
        world.Do("slide", AxisCommandKind.Enable);
        Assert.False(world.Drive("slide").Plant.BrakeClosed);
        world.Do("slide", AxisCommandKind.Move, 30);
    }

    [Fact]
    public void Proof_WhileMoving_IsRefused()
    {
        var world = Ready(seed: 7);
        var move = world.Give("slide", AxisCommandKind.Move, 150);
        world.Run(0.3);
        var proof = world.Give("slide", AxisCommandKind.ProveBrake);
        world.RunUntil(() => world.EndOf(proof).Outcome != Outcome.None, 3, "answered");
        Assert.Equal((Outcome.Refused, Refusal.AxisBusy), (world.EndOf(proof).Outcome, world.EndOf(proof).Refusal));
        world.RunUntil(() => world.EndOf(move).Outcome == Outcome.Done, 5, "the move goes on");
    }

    [Fact]
    public void Proof_WhileItRuns_NothingElseBeginsToMove()
    {
        var machine = new SupervisedMachine(ProofMachine.Build(axes: 2), 9);
        machine.RunUntil(() => machine.Control.Status().Axes.All(axis => axis.Online), 5, "met");
        machine.Run(0.5);
        machine.Grant = machine.Control.TryAcquire("operator", out _);
        machine.Done(new HomeCommand([]));
        var proof = machine.Control.Submit(new ProveBrakeCommand([0]), machine.Grant);

        // Given with it, and while it pushes.
        var together = machine.Do(new MoveCommand([new MoveTarget(1, 50, false)], null));
        machine.RunUntil(() => machine.Axis("slide").Detail == AxisDetail.ProvingBrake, 1, "proving");
        var later = machine.Do(new MoveCommand([new MoveTarget(1, 50, false)], null));
        Assert.All([together, later], answer => Assert.Equal((Outcome.Refused, Refusal.AxisBusy, 0), (answer.Outcome, answer.Refusal, answer.Axis)));
        Assert.Contains("brake of slide", later.Message, StringComparison.Ordinal);
        machine.RunUntil(() => proof.Completion.IsCompleted, 10, "proof ends");
        Assert.Equal(Outcome.Done, SupervisedMachine.Ended(proof).Outcome);
        machine.Done(new MoveCommand([new MoveTarget(1, 50, false)], null));

        // And the other way round: a move that was given and has not begun.
        machine.IsHeldUp = true;
        var move = machine.Control.Submit(new MoveCommand([new MoveTarget(1, 20, false)], null), machine.Grant);
        var refused = machine.Control.Submit(new ProveBrakeCommand([0]), machine.Grant);
        machine.IsHeldUp = false;
        machine.RunUntil(() => move.Completion.IsCompleted && refused.Completion.IsCompleted, 5, "both answered");
        Assert.Equal((Outcome.Done, Outcome.Refused), (SupervisedMachine.Ended(move).Outcome, SupervisedMachine.Ended(refused).Outcome));
    }

    /// <summary>The brake needs longer than the file says, so that the load sags before it holds.</summary>
    [Fact]
    public void Disable_WithABrakeThatHoldsTooLittle_IsStandstillLostOnTheBrake()
    {
        var world = Ready(seed: 8);
        world.Drive("slide").Plant.BrakeTorque = 4;
        world.Give("slide", AxisCommandKind.Disable);
        world.RunUntil(() => world.State("slide") == AxisState.Faulted, 3, "seen");
        Assert.Equal(FaultCode.StandstillLostOnBrake, world.Snapshot("slide").Fault);
        Assert.False(FaultCatalogue.MayRecover(FaultCode.StandstillLostOnBrake));
    }

    private static SimulatedWorld Ready(ulong seed, string coding = "cia402", bool hasLoad = true) => ProofMachine.Ready(seed, coding, hasLoad);
}
