using Supervisor.Bus;
using Supervisor.Configuration.Routines;
using Supervisor.Machine.Api;
using Supervisor.Records.Commands;

namespace Supervisor.Production.Routines;

/// <summary>One run of a routine.</summary>
internal sealed class RoutineRun(
    IRoutineMachine machine,
    IMonotonicClock clock,
    RoutineDefinition routine,
    ParameterValues values,
    Action<RoutineProgress>? progress,
    CancellationToken cancellation)
{
    /// <summary>How long a cancellation may go unnoticed, and how often an input is looked at.</summary>
    private static readonly TimeSpan Glance = TimeSpan.FromMilliseconds(10);

    private readonly StepAlarms _alarms = new(machine);
    private RoutineProgress? _step;

    public RoutineResult Run()
    {
        try
        {
            for (var index = 0; index < routine.Steps.Count; index++)
            {
                if (RunStep(index, null, 0) is { } end)
                {
                    return end;
                }
            }

            return new RoutineResult(RoutineEnd.Completed, null, null, $"routine \"{routine.Name}\" completed");
        }
        catch (OperationCanceledException) when (cancellation.IsCancellationRequested)
        {
            return Cancelled();
        }
        catch
        {
            StopAxes();
            throw;
        }
    }

    /// <summary>Runs one step and tells its alarms; null when it ended well.</summary>
    private RoutineResult? RunStep(int index, RepeatStep? repeat, int repetition)
    {
        var step = routine.Steps[index];
        _step = new RoutineProgress(index, step.Name, repeat?.Name, repetition, repeat?.Times ?? 0);
        cancellation.ThrowIfCancellationRequested();
        progress?.Invoke(_step);
        _alarms.Begin(step, clock.Now);
        var end = RunAction(step);
        _alarms.End(step, isGood: end is null);
        return end;
    }

    private RoutineResult? RunAction(RoutineStep step)
    {
        switch (step)
        {
            case RepeatStep inner:
                return Repeat(inner);
            case WaitStep wait:
                WaitUntil(clock.Now + wait.Duration);
                return null;
            case WaitInputStep input:
                return WaitFor(input);
            default:
                var command = StepCommands.For(step, values) ?? throw new InvalidOperationException($"A {step.GetType().Name} can't be run.");
                return Command(command);
        }
    }

    private RoutineResult? Repeat(RepeatStep repeat)
    {
        for (var repetition = 1; repetition <= repeat.Times; repetition++)
        {
            foreach (var index in repeat.Steps)
            {
                if (RunStep(index, repeat, repetition) is { } end)
                {
                    return end;
                }
            }
        }

        return null;
    }

    private RoutineResult? Command(MachineCommand command)
    {
        var completion = machine.Submit(command).Completion;
        while (_alarms.Waits && !completion.Wait(Glance, cancellation))
        {
            _alarms.Look(clock.Now);
        }

        completion.Wait(cancellation);
        var answer = completion.Result;
        if (answer.Outcome == Outcome.Done)
        {
            return null;
        }

        var message = answer.Message;
        if (MayStillMove(answer) && StopAxes() is { } trouble)
        {
            message += $"; {trouble}";
        }

        return Stopped(message, answer);
    }

    private RoutineResult? WaitFor(WaitInputStep step)
    {
        var wait = new InputWait(machine, step);
        if (wait.Objection is { } objection)
        {
            return Stopped(objection, null);
        }

        var deadline = clock.Now + step.Timeout;
        while (!wait.IsMet())
        {
            if (clock.Now >= deadline)
            {
                return Stopped(wait.Missed(), null);
            }

            WaitUntil(Earlier(deadline, clock.Now + Glance));
        }

        return null;
    }

    private void WaitUntil(TimeSpan deadline)
    {
        while (clock.Now < deadline)
        {
            cancellation.ThrowIfCancellationRequested();
            _alarms.Look(clock.Now);
            clock.WaitUntil(Earlier(deadline, clock.Now + Glance));
        }
    }

    // A move of several axes ends with the first that fails; the others are not left running behind a routine that has ended. What a
    // person commanded instead is left alone, and a refused command never began.
    private static bool MayStillMove(CommandAnswer answer) =>
        answer.Outcome != Outcome.Refused && answer.Refusal != Refusal.ReplacedByCommand;

    /// <summary>Halts the axes the routine moves and waits until they rest; tells what stood in the way, or null.</summary>
    private string? StopAxes()
    {
        // An empty list would mean every axis of the machine.
        var axes = StepCommands.AxesMovedBy(routine);
        if (axes.Length == 0)
        {
            return null;
        }

        var answer = machine.Submit(new HaltCommand(axes)).Completion.GetAwaiter().GetResult();
        return answer.Outcome == Outcome.Done ? null : $"its axes could not be stopped in order: {answer.Message}";
    }

    private RoutineResult Stopped(string why, CommandAnswer? answer) =>
        new(RoutineEnd.Stopped, _step, answer, $"routine \"{routine.Name}\" stopped at {_step}: {why}");

    private RoutineResult Cancelled()
    {
        var trouble = StopAxes();
        return new RoutineResult(
            RoutineEnd.Cancelled, _step, null, $"routine \"{routine.Name}\" cancelled at {_step}" + (trouble is null ? "" : $"; {trouble}"));
    }

    private static TimeSpan Earlier(TimeSpan one, TimeSpan other) => one < other ? one : other;
}
