using Supervisor.Configuration.Routines;
using Supervisor.Machine.Api;
using Supervisor.Production.Routines;
using Supervisor.Records.Faults;
using static Supervisor.Production.Tests.Routines.FakeMachine;

namespace Supervisor.Production.Tests.Routines;

/// <summary>Steps that raise and clear alarms and count, and the alarms of steps that fail or take too long.</summary>
public sealed class StepAlarmTests
{
    private readonly FakeMachine _machine = new();

    [Fact]
    public void Run_AlarmAndCountSteps_AreCommandsInOrder()
    {
        var result = Run(new RaiseAlarmStep("call", 1001), new CountStep("one more", 2, 3), new ClearAlarmStep("go on", 1001));

        Assert.Equal(RoutineEnd.Completed, result.End);
        Assert.Equal([new RaiseAlarmCommand(1001), new CountCommand(2, 3), new ClearAlarmCommand(1001)], _machine.Commands);
    }

    [Fact]
    public void Run_StepThatFails_RaisesItsAlarmAndClearsItOnceItEndsWell()
    {
        var step = new MoveStep("lift", [new AxisTarget(Gantry, new(1, null), false)], null) { FailureAlarm = 1002 };
        _machine.Answer = command => command is MoveCommand ? Failed(FaultCode.MotorBlocked, "jammed") : Done;

        Assert.Equal(RoutineEnd.Stopped, Run(step).End);
        Assert.Equal(new RaiseAlarmCommand(1002), _machine.Work.Last());

        _machine.Answer = _ => Done;
        Assert.Equal(RoutineEnd.Completed, Run(step).End);
        Assert.Equal(new ClearAlarmCommand(1002), _machine.Work.Last());
    }

    [Fact]
    public void Run_StepThatTakesTooLong_RaisesOnceWhileItGoesOn()
    {
        var raisedAt = TimeSpan.Zero;
        var begun = _machine.Now;
        _machine.Submitted = command => raisedAt = command is RaiseAlarmCommand ? _machine.Now : raisedAt;
        var result = Run(
            new WaitStep("short", TimeSpan.FromSeconds(4)) { TooLong = new TooLong(TimeSpan.FromSeconds(5), 1003) },
            new WaitStep("long", TimeSpan.FromSeconds(60)) { TooLong = new TooLong(TimeSpan.FromSeconds(5), 1004) });

        Assert.Equal(RoutineEnd.Completed, result.End);
        Assert.Equal([new ClearAlarmCommand(1003), new RaiseAlarmCommand(1004), new ClearAlarmCommand(1004)], _machine.Commands);
        Assert.InRange(raisedAt - begun, TimeSpan.FromSeconds(9), TimeSpan.FromSeconds(9.1));
    }

    /// <summary>The whole of a repeat may take too long, whichever of its steps is under way.</summary>
    [Fact]
    public void Run_RepeatThatTakesTooLong_Raises()
    {
        Run(new WaitStep("a", TimeSpan.FromSeconds(2)), new RepeatStep("again", [0], 5) { TooLong = new TooLong(TimeSpan.FromSeconds(5), 1005) });
        Assert.Equal([new RaiseAlarmCommand(1005), new ClearAlarmCommand(1005)], _machine.Commands);
    }

    /// <summary>A command that does not end is waited for in short looks at the clock.</summary>
    [Fact]
    public async Task Run_CommandThatTakesTooLong_RaisesAndGoesOn()
    {
        var ends = new TaskCompletionSource();
        _machine.Answer = command => command is MoveCommand ? null : Done;
        _machine.Submitted = command =>
        {
            if (command is MoveCommand)
            {
                _machine.Now += TimeSpan.FromSeconds(10);
            }
            else if (command is RaiseAlarmCommand)
            {
                ends.SetResult();
            }
        };
        using var cancel = new CancellationTokenSource();
        var run = Task.Run(() => new RoutineRunner(_machine, _machine).Run(
            new RoutineDefinition("r", [], [new MoveStep("m", [new AxisTarget(Gantry, new(1, null), false)], null) { TooLong = new TooLong(TimeSpan.FromSeconds(5), 1006) }]),
            new Dictionary<string, double>(), null, cancel.Token));

        await ends.Task.WaitAsync(TimeSpan.FromSeconds(30), TestContext.Current.CancellationToken);
        await cancel.CancelAsync();
        Assert.Equal(RoutineEnd.Cancelled, (await run).End);
        Assert.DoesNotContain(new ClearAlarmCommand(1006), _machine.Commands);
    }

    private RoutineResult Run(params RoutineStep[] steps) =>
        new RoutineRunner(_machine, _machine).Run(new RoutineDefinition("r", [], steps), new Dictionary<string, double>(), null, CancellationToken.None);
}
