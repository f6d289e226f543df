using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Tests;

/// <summary>Whatever people, ports and interlocks do at whatever instant: every command is answered once, and no axis moves for one that was refused.</summary>
public sealed class ExactlyOnceTests
{
    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(3)]
    [InlineData(20_251)]
    public void RandomInterleavings_EveryCommandEndsOnce(int seed)
    {
        TestContext.Current.TestOutputHelper?.WriteLine($"seed {seed}");
        var random = new Random(seed);
        var rig = MachineRig.Ready(Machines.Seeder(dibberRecovery: [Machines.LinkRule()]));
        var tickets = new List<(CommandTicket Ticket, int Axes)>();
        var grant = rig.Grant;
        var outcomes = new HashSet<(Outcome, Refusal)>();
        for (var step = 0; step < 20_000; step++)
        {
            Disturb(random, rig);
            if (random.Next(4) == 0)
            {
                var command = AnyCommand(random);
                tickets.Add((rig.Control.Submit(command, random.Next(20) == 0 ? null : grant), 0));
            }

            if (random.Next(200) == 0)
            {
                grant?.Release(random.Next(2) == 0);
                grant = rig.Control.TryAcquire($"shift {step}", out _);
            }

            rig.Step(random.Next(3));
        }

        rig.Ports[0].Steps = rig.Ports[1].Steps = rig.Ports[0].ReadsMailbox = rig.Ports[1].ReadsMailbox = true;
        rig.Run(30_000);
        foreach (var (ticket, _) in tickets)
        {
            var answer = MachineRig.Answer(ticket);
            Assert.Equal(ticket.Id, answer.Id);
            Assert.NotEqual(Outcome.None, answer.Outcome);
            Assert.NotEqual("", answer.Message);
            Assert.DoesNotContain('\n', answer.Message);
            outcomes.Add((answer.Outcome, answer.Refusal));
        }

        // Not vacuous: the run has seen every way to end, and many reasons.
        Assert.Equal(4, outcomes.Select(end => end.Item1).Distinct().Count());
        Assert.True(outcomes.Count > 12, $"only {outcomes.Count} ways to end");
        Assert.Equal(tickets.Count, tickets.Select(entry => entry.Ticket.Id).Distinct().Count());
    }

    private static void Disturb(Random random, MachineRig rig)
    {
        var axis = (short)random.Next(4);
        var fake = rig.Axis(axis);
        switch (random.Next(120))
        {
            case 0:
                rig.PortOf(axis).Fault(axis, random.Next(2) == 0 ? FaultCode.FollowingError : FaultCode.LinkLost);
                break;
            case 1:
                rig.Set("gantry.input1", random.Next(3) != 0);
                break;
            case 2:
                rig.Set("tray.input1", random.Next(4) != 0);
                rig.Set("tray.input2", random.Next(4) != 0);
                break;
            case 3:
                fake.NextRefusal = Refusal.AxisBusy;
                break;
            case 4:
                rig.Ports[axis / 2].ReadsMailbox = random.Next(2) == 0;
                break;
            case 5:
                rig.Ports[axis / 2].Steps = random.Next(8) != 0;
                break;
            case 6 or 7 or 8 or 9:
                rig.Ports[0].Steps = rig.Ports[1].Steps = rig.Ports[0].ReadsMailbox = rig.Ports[1].ReadsMailbox = true;
                rig.Set("tray.input1", true);
                rig.Set("tray.input2", true);
                rig.Set("gantry.input1", true);
                rig.PressReset(110);
                break;
            case 10:
                fake.StepsPerCommand = random.Next(1, 60);
                break;
            case 11 when fake.Now.State == AxisState.Faulted:
                fake.Now.Online = random.Next(3) != 0;
                break;
            default:
                break;
        }
    }

    private static MachineCommand AnyCommand(Random random)
    {
        var axis = random.Next(4);
        int[] axes = random.Next(3) switch
        {
            0 => [axis],
            1 => [axis, (axis + 1) % 4],
            _ => [0, 1, 2, 3],
        };
        return random.Next(12) switch
        {
            0 => new EnableCommand(axes),
            1 => new DisableCommand(axes),
            2 => new HomeCommand(random.Next(2) == 0 ? [] : [1 + random.Next(2)]),
            3 => new ResetCommand(random.Next(3) == 0 ? [axis] : []),
            4 => new StopCommand(random.Next(2) == 0 ? [] : axes),
            9 => new HaltCommand(axes),
            10 or 11 => new ReleaseCommand([]),
            5 => new ContactCommand(2, random.Next(200), 20, 30),
            6 => new SetOutputCommand(axis, "lamp", true),
            _ => new MoveCommand([.. axes.Select(each => new MoveTarget(each, random.Next(-20, 200), random.Next(3) == 0))], null),
        };
    }
}
