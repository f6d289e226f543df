using Supervisor.Configuration.Routines;
using Supervisor.Machine.Api;
using Supervisor.Production.Routines;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using static Supervisor.Production.Tests.Routines.FakeMachine;

namespace Supervisor.Production.Tests.Routines;

public sealed class RoutineRunnerTests
{
    private static readonly Dictionary<string, double> Defaults = [];

    private readonly FakeMachine _machine = new();

    [Fact]
    public void Run_MoveStep_CommandsItsTargetsTogether()
    {
        var result = Run(new MoveStep("cross", [To(Gantry, 110), new(Dibber, new(-5, null), Relative: true)], new RoutineValue(40, null)));

        Assert.Equal(RoutineEnd.Completed, result.End);
        var command = Assert.IsType<MoveCommand>(Assert.Single(_machine.Commands));
        Assert.Equal([new MoveTarget(Gantry, 110, false), new MoveTarget(Dibber, -5, true)], command.Targets);
        Assert.Equal(40, command.Velocity);
    }

    [Fact]
    public void Run_MoveStep_CommandsItsWayRampsAndApproach()
    {
        var routine = new RoutineDefinition("sow", [new RoutineParameter("slow", 4, 1, 9, "mm/s")],
        [
            new MoveStep("turn", [new(Gantry, new(90, null), Relative: false) { Direction = RoutineDirection.Negative }, To(Dibber, 5)], null)
            {
                Acceleration = new RoutineValue(300, null),
                Deceleration = new RoutineValue(200, null),
                Approach = new RoutineApproach(new(0, "slow"), new(3, null), new(2, null)),
            },
        ]);
        new RoutineRunner(_machine, _machine).Run(routine, Defaults, null, CancellationToken.None);

        var command = Assert.IsType<MoveCommand>(Assert.Single(_machine.Commands));
        Assert.Equal([WayRound.Negative, WayRound.Shortest], command.Targets.Select(target => target.Way));
        Assert.Equal((300.0, 200.0, new ApproachSpeed(4, 3, 2)), (command.Acceleration, command.Deceleration, command.Approach));
    }

    [Theory]
    [InlineData("maintenance")]
    [InlineData("manual")]
    public void Run_InAnotherModeThanProduction_DoesNotStart(string mode)
    {
        _machine.Mode = mode;

        var result = Run(Move("lift", 0));

        Assert.Equal(RoutineEnd.NotStarted, result.End);
        Assert.Contains(mode, result.Message, StringComparison.Ordinal);
        Assert.Empty(_machine.Commands);
    }

    [Fact]
    public void Run_MoveStepWithoutVelocity_LeavesItToTheLimits()
    {
        Run(Move("lift", 0));

        Assert.Null(Assert.IsType<MoveCommand>(Assert.Single(_machine.Commands)).Velocity);
    }

    [Fact]
    public void Run_ContactStep_CommandsAContactMove()
    {
        Run(new ContactStep("dib", Dibber, new(30, null), new(20, null), new(15, null)));

        Assert.Equal(new ContactCommand(Dibber, 30, 20, 15), Assert.Single(_machine.Commands));
    }

    [Fact]
    public void Run_SetOutputStep_SetsIt()
    {
        Run(new SetOutputStep("open valve", Dibber, "valve", true));

        Assert.Equal(new SetOutputCommand(Dibber, "valve", true), Assert.Single(_machine.Commands));
    }

    [Fact]
    public void Run_WaitStep_WaitsThatLong()
    {
        var before = _machine.Now;

        Run(new WaitStep("settle", TimeSpan.FromMilliseconds(1_234)));

        Assert.Equal(TimeSpan.FromMilliseconds(1_234), _machine.Now - before);
        Assert.Empty(_machine.Commands);
    }

    [Fact]
    public void Run_WaitInputStep_EndsOnceTheInputIsAsWanted()
    {
        // "part" is the second input of the drive: bit 1 of the status, whatever its register bit is.
        var closes = _machine.Now + TimeSpan.FromMilliseconds(300);
        _machine.Inputs = now => (true, now >= closes ? 0b10u : 0b01u);

        Assert.Equal(RoutineEnd.Completed, Run(WaitPart(closed: true)).End);
        Assert.InRange(_machine.Now, closes, closes + TimeSpan.FromMilliseconds(50));
    }

    [Fact]
    public void Run_WaitInputStepForOpen_EndsAtOnceWhenOpen()
    {
        var before = _machine.Now;
        _machine.Inputs = _ => (true, 0b01);

        Assert.Equal(RoutineEnd.Completed, Run(WaitPart(closed: false)).End);
        Assert.Equal(before, _machine.Now);
    }

    [Theory]
    [InlineData(true, "check what it senses")]
    [InlineData(false, "does not answer")]
    public void Run_WaitInputStepInVain_StopsTheRoutineThere(bool online, string hint)
    {
        var before = _machine.Now;
        _machine.Inputs = _ => (online, online ? 0u : 0b10u);

        var result = Run(WaitPart(closed: true), Move("lift", 0));

        Assert.Equal(RoutineEnd.Stopped, result.End);
        Assert.Equal("part there", result.Step!.Name);
        Assert.StartsWith("routine \"sow\" stopped at step 1 \"part there\": input dibber.part did not close within 2 s", result.Message, StringComparison.Ordinal);
        Assert.Contains(hint, result.Message, StringComparison.Ordinal);
        Assert.Equal(TimeSpan.FromSeconds(2), _machine.Now - before);
        Assert.Empty(_machine.Work);
    }

    [Fact]
    public void Run_WaitInputStepOnAnUnknownInput_StopsAtOnce()
    {
        var result = Run(new WaitInputStep("odd", Dibber, "nowhere", true, TimeSpan.FromSeconds(2)));

        Assert.Equal(RoutineEnd.Stopped, result.End);
        Assert.Contains("no input nowhere", result.Message, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Run_SeveralSteps_BeginsEachAfterTheOneBeforeHasEnded()
    {
        var first = new TaskCompletionSource<CommandAnswer>();
        var machine = new HeldMachine(_machine, first.Task);
        var running = new RoutineRunner(machine, _machine).RunAsync(
            Routine([], Move("one", 1), Move("two", 2)), Defaults, null, TestContext.Current.CancellationToken);
        await machine.FirstSubmitted;
        Assert.Single(machine.Commands);

        first.SetResult(Done);

        Assert.Equal(RoutineEnd.Completed, (await running).End);
        Assert.Equal(2, machine.Commands.Count);
    }

    [Fact]
    public void Run_StepFails_StopsThereAndStopsItsAxes()
    {
        _machine.Answer = command => command is ContactCommand ? Failed(FaultCode.ContactMissing, "dibber reached 30 mm without contact: check the soil") : Done;

        var result = Run(Move("lift", 0), new ContactStep("dib", Dibber, new(30, null), new(20, null), new(15, null)), Move("after", 5));

        Assert.Equal(RoutineEnd.Stopped, result.End);
        Assert.Equal(1, result.Step!.Index);
        Assert.Equal(FaultCode.ContactMissing, result.Answer!.Fault);
        Assert.Equal("routine \"sow\" stopped at step 2 \"dib\": dibber reached 30 mm without contact: check the soil", result.Message);
        Assert.Equal(2, _machine.Work.Count());
        Assert.Equal([Gantry, Dibber], Assert.IsType<HaltCommand>(_machine.Commands[^1]).Axes);
    }

    [Theory]
    [InlineData(Outcome.Refused, Refusal.InterlockOpen, false)]
    [InlineData(Outcome.Replaced, Refusal.ReplacedByCommand, false)]
    [InlineData(Outcome.Replaced, Refusal.InterlockTripped, true)]
    [InlineData(Outcome.Replaced, Refusal.AuthorityLost, true)]
    public void Run_StepEndsOtherwise_StopsAxesOnlyWhereItsOwnMoveMayGoOn(Outcome outcome, Refusal refusal, bool stops)
    {
        _machine.Answer = command => command is MoveCommand ? Ended(outcome, refusal, "front guard is open (gantry.input1): close it") : Done;

        var result = Run(Move("lift", 0), Move("after", 5));

        Assert.Equal(RoutineEnd.Stopped, result.End);
        Assert.Equal(refusal, result.Answer!.Refusal);
        Assert.Equal(stops, _machine.Commands.Any(command => command is HaltCommand));
        Assert.Single(_machine.Work);
    }

    [Fact]
    public void Run_StopAfterAFailureFailsToo_TellsBoth()
    {
        _machine.Answer = command => command is HaltCommand
            ? Failed(FaultCode.StopFailed, "gantry does not slow down")
            : Failed(FaultCode.FollowingError, "gantry is 4 mm behind");

        var result = Run(Move("lift", 0));

        Assert.Contains("gantry is 4 mm behind", result.Message, StringComparison.Ordinal);
        Assert.Contains("could not be stopped in order: gantry does not slow down", result.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Run_CancelledDuringAMove_StopsTheRoutinesAxesAndWaitsForThat()
    {
        using var cancel = new CancellationTokenSource();
        _machine.Answer = command => command is HaltCommand ? Done : null;
        _machine.Submitted = command => cancel.Cancel();

        var result = Run(cancel.Token, Move("lift", 0), Move("after", 5));

        Assert.Equal(RoutineEnd.Cancelled, result.End);
        Assert.Equal("routine \"sow\" cancelled at step 1 \"lift\"", result.Message);
        Assert.Single(_machine.Work);
        Assert.Equal([Gantry], Assert.IsType<HaltCommand>(_machine.Commands[^1]).Axes);
    }

    [Fact]
    public async Task Run_CancelledWhileTheStopTakesLong_EndsOnlyWithIt()
    {
        using var cancel = new CancellationTokenSource();
        var stopped = new TaskCompletionSource<CommandAnswer>();
        var machine = new HeldMachine(_machine, stopped.Task, held: command => command is HaltCommand);
        _machine.Answer = _ => null;
        _machine.Submitted = command => cancel.Cancel();
        var running = new RoutineRunner(machine, _machine).RunAsync(Routine([], Move("lift", 0)), Defaults, null, cancel.Token);
        await machine.FirstSubmitted;
        Assert.False(running.IsCompleted);

        stopped.SetResult(Done);
        Assert.Equal(RoutineEnd.Cancelled, (await running).End);
    }

    [Fact]
    public void Run_CancelledDuringAWait_EndsLongBeforeItsTime()
    {
        using var cancel = new CancellationTokenSource();
        var before = _machine.Now;
        _machine.Waited = now =>
        {
            if (now - before > TimeSpan.FromSeconds(1))
            {
                cancel.Cancel();
            }
        };

        Assert.Equal(RoutineEnd.Cancelled, Run(cancel.Token, new WaitStep("rest", TimeSpan.FromHours(8))).End);
        Assert.InRange(_machine.Now - before, TimeSpan.FromSeconds(1), TimeSpan.FromSeconds(1.1));
    }

    [Fact]
    public void Run_CancelledDuringAWaitForAnInput_EndsLongBeforeItsTime()
    {
        using var cancel = new CancellationTokenSource();
        var before = _machine.Now;
        _machine.Waited = _ => cancel.Cancel();

        Assert.Equal(RoutineEnd.Cancelled, Run(cancel.Token, WaitPart(closed: true)).End);
        Assert.InRange(_machine.Now - before, TimeSpan.Zero, TimeSpan.FromSeconds(0.1));
    }

    [Fact]
    public void Run_CancelledBefore_CommandsNoMotion()
    {
        Assert.Equal(RoutineEnd.Cancelled, Run(new CancellationToken(canceled: true), Move("lift", 0)).End);
        Assert.Empty(_machine.Work);
    }

    [Fact]
    public void Run_NestedRepeats_RunsEveryStepAsOftenAsTheyMultiplyTo()
    {
        var seen = new List<string>();
        var result = Run(
            Routine([], Move("a", 1), Move("b", 2), new RepeatStep("inner", [0, 1], 2), new RepeatStep("outer", [2, 0], 3)),
            Defaults, step => seen.Add($"{step.Name}{step.Repetition}/{step.Repetitions}"), CancellationToken.None);

        Assert.Equal(RoutineEnd.Completed, result.End);
        string[] inner = ["a1/2", "b1/2", "a2/2", "b2/2"];
        string[] expected =
        [
            "a0/0", "b0/0", "inner0/0", .. inner, "outer0/0",
            "inner1/3", .. inner, "a1/3", "inner2/3", .. inner, "a2/3", "inner3/3", .. inner, "a3/3",
        ];
        Assert.Equal(expected, seen);
        Assert.Equal(2 + 4 + (3 * (4 + 1)), _machine.Commands.Count);
    }

    [Fact]
    public void Run_FailureInARepeat_TellsWhichRepetition()
    {
        var moves = 0;
        _machine.Answer = command => command is MoveCommand && ++moves == 3 ? Failed(FaultCode.FollowingError, "gantry is 4 mm behind") : Done;

        var result = Run(Move("a", 1), new RepeatStep("again", [0], 3));

        Assert.Equal("routine \"sow\" stopped at step 1 \"a\" (2 of 3 of \"again\"): gantry is 4 mm behind", result.Message);
        Assert.Equal(3, _machine.Work.Count());
    }

    [Fact]
    public void Run_Parameters_TakeDefaultsAndOverrides()
    {
        var routine = Routine(
            [new("depth", 30, 5, 60, "mm"), new("speed", 15, 1, 50, null)],
            new ContactStep("dib", Dibber, new(0, "depth"), new(20, null), new(0, "speed")));

        Run(routine, Defaults, null, CancellationToken.None);
        Run(routine, new() { ["depth"] = 60 }, null, CancellationToken.None);

        Assert.Equal([new ContactCommand(Dibber, 30, 20, 15), new ContactCommand(Dibber, 60, 20, 15)], _machine.Commands);
    }

    [Fact]
    public void Run_ParametersThatAreWrong_AreAllToldAndNothingBegins()
    {
        var routine = Routine([new("depth", 30, 5, 60, "mm"), new("speed", 15, 1, 50, null)], Move("lift", 0));

        var result = Run(routine, new() { ["depth"] = 60.5, ["speed"] = double.NaN, ["width"] = 1 }, null, CancellationToken.None);

        Assert.Equal(RoutineEnd.NotStarted, result.End);
        Assert.Equal(
            [
                "parameter depth: 60.5 mm is outside 5 to 60 mm; give a value inside",
                "parameter speed: NaN is outside 1 to 50; give a value inside",
                "routine \"sow\" has no parameter \"width\"; it has depth, speed",
            ],
            result.Message.Split('\n'));
        Assert.Empty(_machine.Commands);
    }

    [Fact]
    public void Run_ProgressThrows_StopsTheAxesAndLetsItThrough()
    {
        Assert.Throws<InvalidOperationException>(() => Run(
            Routine([], Move("lift", 0)), Defaults, _ => throw new InvalidOperationException("a bug"), CancellationToken.None));

        Assert.IsType<HaltCommand>(Assert.Single(_machine.Commands));
    }

    [Fact]
    public void Run_CancelledWithoutAxes_StopsNone()
    {
        // A stop that names no axis would stop the whole machine.
        Run(new CancellationToken(canceled: true), new WaitStep("rest", TimeSpan.FromSeconds(1)));

        Assert.Empty(_machine.Commands);
    }

    private RoutineResult Run(params RoutineStep[] steps) => Run(Routine([], steps), Defaults, null, CancellationToken.None);

    private RoutineResult Run(CancellationToken cancellation, params RoutineStep[] steps) => Run(Routine([], steps), Defaults, null, cancellation);

    private RoutineResult Run(
        RoutineDefinition routine, Dictionary<string, double> parameters, Action<RoutineProgress>? progress, CancellationToken cancellation) =>
        new RoutineRunner(_machine, _machine).Run(routine, parameters, progress, cancellation);

    private static RoutineDefinition Routine(RoutineParameter[] parameters, params RoutineStep[] steps) => new("sow", parameters, steps);

    private static MoveStep Move(string name, double position) => new(name, [To(Gantry, position)], null);

    private static AxisTarget To(int axis, double position) => new(axis, new(position, null), Relative: false);

    private static WaitInputStep WaitPart(bool closed) => new("part there", Dibber, "part", closed, TimeSpan.FromSeconds(2));
}
