using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Stops;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Brakes;

/// <summary>A load on a brake that failed its proof: the motor holds it, and only what must takes it from the motor.</summary>
public sealed class HeldLoadTests
{
    // What the plant's gravity asks of the motor, percent of rated, and what friction may add or take.
    private const double Gravity = 12;
    private const double Friction = 8;

    [Theory]
    [InlineData("cia402", 0)]
    [InlineData("cia402", 40)]
    [InlineData("bits", 0)]
    [InlineData("bits", 40)]
    public void Proof_OfABadBrakeUnderALoad_HoldsItByTheMotorWithTheBrakeClosed(string coding, double brakeTorque)
    {
        var world = ProofMachine.Ready(seed: 1, coding);
        var from = world.Drive("slide").Plant.Position;
        world.Drive("slide").Plant.BrakeTorque = brakeTorque;
        var id = world.Give("slide", AxisCommandKind.ProveBrake);
        world.RunUntil(() => world.EndOf(id).Outcome != Outcome.None, 10, "proof ends");
        Assert.Equal((Outcome.Failed, FaultCode.BrakeProofFailed), (world.EndOf(id).Outcome, world.EndOf(id).Fault));

        world.Run(1);
        var place = world.Drive("slide").Plant.Position;
        Assert.InRange(Math.Abs(place - from), 0.15, 0.8 + 0.5);
        for (var second = 0; second < 20; second++)
        {
            world.Run(1);
            AssertHolds(world, place);

            // It has left off pushing with the proof's 60 %.
            Assert.InRange(Math.Abs(world.Drive("slide").Plant.Torque), 0, Gravity + brakeTorque + Friction);
        }

        Assert.Equal(FaultCode.BrakeProofFailed, Assert.Single(world.Faults).Code);
    }

    /// <summary>A motor that never gives the proof's torque proves nothing, so the load stays on it.</summary>
    [Fact]
    public void Proof_WhoseTorqueNeverComesUnderALoad_HoldsIt()
    {
        var world = ProofMachine.Ready(seed: 2);
        world.Drive("slide").LargestTorqueLimit = 30;
        var id = world.Give("slide", AxisCommandKind.ProveBrake);
        world.RunUntil(() => world.EndOf(id).Outcome != Outcome.None, 15, "proof ends");
        world.Run(1);
        AssertHolds(world, world.Drive("slide").Plant.Position);

        // The 30 % that it pushed with are gone.
        Assert.InRange(Math.Abs(world.Drive("slide").Plant.Torque), 0, Gravity + Friction);
    }

    [Fact]
    public void HeldLoad_RefusesEverythingButSupport()
    {
        var (world, place) = Holding(seed: 3);
        foreach (var kind in Enum.GetValues<AxisCommandKind>().Except([AxisCommandKind.None, AxisCommandKind.LoadSupported, AxisCommandKind.SetOutput, AxisCommandKind.Release]))
        {
            var id = world.Give("slide", kind, 1, confirmed: true);
            world.RunUntil(() => world.EndOf(id).Outcome != Outcome.None, 2, $"{kind} answered");
            var expected = kind == AxisCommandKind.Reset ? Refusal.NeedsConfirmation : Refusal.AxisFaulted;
            Assert.True((world.EndOf(id).Outcome, world.EndOf(id).Refusal) == (Outcome.Refused, expected), $"{kind}: {world.EndOf(id)}");
            AssertHolds(world, place);
        }
    }

    [Fact]
    public void Support_ToldByAPerson_TakesTheTorqueWithTheBrakeClosedAndKeepsTheFault()
    {
        var (world, place) = Holding(seed: 4);
        world.Drive("slide").Plant.BrakeTorque = 100;
        world.Drive("slide").Plant.BrakeWorn = false;
        var id = world.Give("slide", AxisCommandKind.LoadSupported);
        world.RunUntil(() => world.EndOf(id).Outcome != Outcome.None || !world.Drive("slide").Plant.BrakeClosed, 3, "let go, its brake closed all the while");
        Assert.Equal(Outcome.Done, world.EndOf(id).Outcome);
        Assert.False(world.Drive("slide").Plant.Powered);
        world.Run(2);
        Assert.Equal((AxisState.Faulted, AxisDetail.None, FaultCode.BrakeProofFailed), (world.State("slide"), world.Snapshot("slide").Detail, world.Snapshot("slide").Fault));
        Assert.Equal(place, world.Drive("slide").Plant.Position, 0.3);
        Assert.Single(world.Faults);

        // From here on as after any fault.
        world.Do("slide", AxisCommandKind.Reset);
        Assert.Equal(AxisState.Disabled, world.State("slide"));
        world.Do("slide", AxisCommandKind.Enable);
        world.Do("slide", AxisCommandKind.ProveBrake);
    }

    /// <summary>Said of a load that nothing carries: what sinks is told as the graver fault.</summary>
    [Fact]
    public void Support_ToldOfALoadThatIsNotSupported_IsFollowedByTheSinkingLoad()
    {
        var (world, _) = Holding(seed: 5);
        world.Do("slide", AxisCommandKind.LoadSupported);
        world.RunUntil(() => world.Snapshot("slide").Fault is FaultCode.BrakeSlip or FaultCode.StandstillLostOnBrake, 5, "sinking seen");
    }

    [Theory]
    [InlineData("pause", true)]
    [InlineData("guard", false)]
    [InlineData("drop", false)]
    public void Interlock_ThatOpens_TakesTheTorqueInCategory0And1Only(string interlock, bool holds)
    {
        var (world, place) = Holding(seed: 6);
        world.Trip(interlock);
        world.Run(2);
        if (holds)
        {
            AssertHolds(world, place);
            return;
        }

        Assert.Equal((AxisState.Faulted, AxisDetail.None, false), (world.State("slide"), world.Snapshot("slide").Detail, world.Drive("slide").Plant.Powered));
        Assert.DoesNotContain(world.Faults, fault => fault.Code == FaultCode.HeldLoadReleased);
        Assert.True(Math.Abs(world.Drive("slide").Plant.Position - place) > 1, "nothing else carries this load");
    }

    [Fact]
    public void StopsAndTheEndOfTheSupervisor_LeaveTheLoadHeld()
    {
        var (world, place) = Holding(seed: 7);
        foreach (var stop in new Action[] { () => world.Board.Latch.RequestStop(0), () => world.Board.Latch.RequestHalt(0), () => world.Board.Latch.Trip(StopCauses.ShutDown) })
        {
            stop();
            world.Run(1);
            AssertHolds(world, place);
        }
    }

    /// <summary>The drive lets go by itself: nobody may go on believing that the load is held.</summary>
    [Fact]
    public void Drive_ThatTripsUnderAHeldLoad_IsToldAndSoIsTheSinkingLoad()
    {
        var (world, _) = Holding(seed: 8);
        world.Drive("slide").Trip(0x3220);
        world.RunUntil(() => world.Snapshot("slide") is { Detail: AxisDetail.None, TorqueOn: false }, 1, "seen");
        var told = Assert.Single(world.Faults, fault => fault.Code == FaultCode.HeldLoadReleased);
        Assert.Equal(0x3220, told.DriveCode);
        world.RunUntil(() => world.Snapshot("slide").Fault == FaultCode.BrakeSlip, 5, "sinking seen");
    }

    /// <summary>The motor holds too little: told once as standstill lost, and the torque is not taken for it.</summary>
    [Fact]
    public void Load_ThatSinksThoughItIsHeld_IsToldAndKeepsItsTorque()
    {
        var world = ProofMachine.Ready(seed: 9);
        world.Drive("slide").Plant.BrakeWorn = true;
        world.Drive("slide").LargestTorqueLimit = 2;
        world.Give("slide", AxisCommandKind.ProveBrake);
        world.RunUntil(() => world.Snapshot("slide").Fault == FaultCode.StandstillLost, 5, "sinking seen");
        Assert.True(world.Drive("slide").Plant.Powered);
        Assert.Equal(AxisDetail.HoldingLoad, world.Snapshot("slide").Detail);

        // While it moves nobody can have supported it.
        var id = world.Give("slide", AxisCommandKind.LoadSupported);
        world.RunUntil(() => world.EndOf(id).Outcome != Outcome.None, 2, "answered");
        Assert.Equal(Refusal.AxisBusy, world.EndOf(id).Refusal);
        Assert.Single(world.Faults, fault => fault.Code == FaultCode.StandstillLost);
    }

    internal static (SimulatedWorld World, double Place) Holding(ulong seed, string coding = "cia402", bool interlocks = true, string reaction = "quickStopThenOff")
    {
        var world = ProofMachine.Ready(seed, coding, interlocks: interlocks, reaction: reaction);
        world.Drive("slide").Plant.BrakeWorn = true;
        world.Give("slide", AxisCommandKind.ProveBrake);
        world.RunUntil(() => world.Snapshot("slide").Detail == AxisDetail.HoldingLoad, 10, "holding");
        world.Run(1);
        return (world, world.Drive("slide").Plant.Position);
    }

    internal static void AssertHolds(SimulatedWorld world, double place)
    {
        var plant = world.Drive("slide").Plant;
        var snapshot = world.Snapshot("slide");
        Assert.Equal((AxisState.Faulted, AxisDetail.HoldingLoad, true, true), (snapshot.State, snapshot.Detail, snapshot.TorqueOn, snapshot.AtRest));
        Assert.True(plant.Powered);
        Assert.True(plant.BrakeClosed);
        Assert.Equal(place, plant.Position, 0.1);
    }
}
