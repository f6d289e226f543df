using Supervisor.Configuration.Routines;
using Supervisor.Machine.Api;

namespace Supervisor.Production.Routines;

/// <summary>The alarms by which the steps of a run tell that they failed or take too long. One that was raised clears once the same step ends well, also in a later run.</summary>
internal sealed class StepAlarms(IRoutineMachine machine)
{
    private readonly List<Watch> _watches = [];

    /// <summary>True while a step under way may yet take too long.</summary>
    public bool Waits => _watches.Exists(watch => !watch.IsRaised);

    /// <summary>A step begins; a repeat goes on while its steps run.</summary>
    public void Begin(RoutineStep step, TimeSpan now)
    {
        if (step.TooLong is { } tooLong)
        {
            _watches.Add(new Watch(step, tooLong.Alarm, now + tooLong.After));
        }
    }

    /// <summary>Looks at the time.</summary>
    public void Look(TimeSpan now)
    {
        foreach (var watch in _watches)
        {
            if (!watch.IsRaised && now >= watch.Deadline)
            {
                watch.IsRaised = true;
                Submit(new RaiseAlarmCommand(watch.Alarm));
            }
        }
    }

    /// <summary>A step has ended.</summary>
    public void End(RoutineStep step, bool isGood)
    {
        _watches.RemoveAll(watch => watch.Step == step);
        if (step.FailureAlarm is { } failure)
        {
            Submit(isGood ? new ClearAlarmCommand(failure) : new RaiseAlarmCommand(failure));
        }

        if (isGood && step.TooLong is { } tooLong)
        {
            Submit(new ClearAlarmCommand(tooLong.Alarm));
        }
    }

    /// <summary>Ends at once with the coordinator's next step. One that is refused, as without authority, is recorded as such.</summary>
    private void Submit(MachineCommand command) => machine.Submit(command).Completion.Wait();

    private sealed class Watch(RoutineStep step, int alarm, TimeSpan deadline)
    {
        public RoutineStep Step => step;

        public int Alarm => alarm;

        public TimeSpan Deadline => deadline;

        public bool IsRaised { get; set; }
    }
}
