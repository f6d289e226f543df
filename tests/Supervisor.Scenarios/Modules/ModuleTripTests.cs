using Supervisor.Records.Axes;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Stops;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Modules;

/// <summary>A module on the line never stands between a trip and the stop frames.</summary>
public sealed class ModuleTripTests
{
    private const int Controlword = 64;
    private const int Trips = 500;

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Trip_AtRandomInstants_NextFrameOfItsPortIsTheStop(bool isModuleMute)
    {
        const int seed = 41;
        var machine = new ModuleMachine(seed: seed);
        machine.StartUp();
        var random = new Random(seed);
        var inModule = 0;
        for (var i = 0; i < Trips; i++)
        {
            machine.World.Give("left", AxisCommandKind.MoveBy, random.Next(2) == 0 ? 200 : -200);
            _ = machine.World.Reports.Count;
            machine.Gripper.Want(random.Next(2) == 0, machine.Gripper.Drops);
            machine.World.Queue.RunUntil(machine.World.Queue.Now + TimeSpan.FromMicroseconds(random.Next(1, 60_000)));
            var isMoving = machine.World.State("left") == AxisState.Moving;
            machine.Module.IsUnplugged = isModuleMute && i % 5 == 0;
            inModule += machine.Frames[^1].Unit == ModuleMachine.Address ? 1 : 0;
            machine.Frames.Clear();
            machine.World.Board.Latch.Trip(StopCauses.Interlock(0));
            machine.World.Queue.RunUntil(machine.World.Queue.Now + TimeSpan.FromMilliseconds(60));
            if (isMoving)
            {
                var first = machine.Frames.First(frame => frame.Port == 0);
                Assert.True(first.Unit == 1 && first.Writes().All(write => write.Address == Controlword), $"seed {seed}, trip {i}: {first}");
            }

            Assert.DoesNotContain(machine.Frames, frame => frame.Unit == 1 && frame.Writes().Any(write =>
                write.Address == Controlword && (write.Value & 0x0F) == 0x0F && ((write.Value & 0x100) == 0 || (write.Value & 0x10) != 0)));
            machine.Module.IsUnplugged = false;
            machine.World.RunUntil(() => machine.World.State("left") == AxisState.Disabled && machine.World.State("right") == AxisState.Disabled, 5, "both off");
            var now = machine.World.Queue.Now;
            machine.World.RunUntil(() => machine.World.Board.Modules[0].Read() is { OutputsReady: true } seen && seen.AnsweredAt > now, 5, "the module answers");
            machine.World.Run(0.1);
            machine.World.ResetInterlocks();
            machine.World.Do("left", AxisCommandKind.Enable);
            machine.World.Do("right", AxisCommandKind.Enable);
        }

        Assert.True(inModule > Trips / 20, $"seed {seed}: only {inModule} trips fell beside a module's request");
    }

    [Fact]
    public void Stepper_WithAModule_AllocatesNothingInSteadyState()
    {
        var machine = new ModuleMachine();
        machine.StartUp();
        machine.World.Run(3);

        // A collection that other tests cause while the stepper runs can shift the thread's count; a stepper that allocates does so in every round.
        var rounds = Enumerable.Range(0, 5).Select(round => Allocated(machine, round)).ToArray();
        Assert.True(rounds.Min() == 0, $"bytes by round: {string.Join(", ", rounds)}");
    }

    private static long Allocated(ModuleMachine machine, int round)
    {
        var before = machine.World.Ports.Sum(port => port.StepperAllocatedBytes);
        var asked = machine.ToModule.Count();
        for (var i = 0; i < 20; i++)
        {
            machine.Gripper.Want((i + round) % 2 == 0, machine.Gripper.Drops);
            machine.World.Run(0.2);
        }

        Assert.True(machine.ToModule.Count() - asked > 150);
        return machine.World.Ports.Sum(port => port.StepperAllocatedBytes) - before;
    }
}
