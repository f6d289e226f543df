using Supervisor.Configuration.Routines;

namespace Supervisor.Production.Routines;

/// <summary>Whether the input a step waits for is as it should be.</summary>
internal sealed class InputWait
{
    private readonly IRoutineMachine _machine;
    private readonly WaitInputStep _step;
    private readonly uint _mask;

    public InputWait(IRoutineMachine machine, WaitInputStep step)
    {
        _machine = machine;
        _step = step;

        // The status packs a drive's inputs in the order of its definition.
        var place = machine.Machine.Axes[step.Axis].Drive.Inputs.Keys.ToList().IndexOf(step.Input);
        _mask = place is >= 0 and < 32 ? 1u << place : 0;
    }

    /// <summary>Why the step can never end well; null when it can.</summary>
    public string? Objection => _mask == 0 ? $"the drive of {AxisName} tells no input {_step.Input}; correct the routine" : null;

    private string AxisName => _machine.Machine.Axes[_step.Axis].Name;

    /// <summary>True when the input is as the step wants it. What a silent drive told last does not count.</summary>
    public bool IsMet()
    {
        var axis = _machine.Status().Axes[_step.Axis];
        return axis.Online && (axis.Inputs & _mask) != 0 == _step.Closed;
    }

    /// <summary>What to tell when the time ran out.</summary>
    public string Missed()
    {
        var axis = _machine.Status().Axes[_step.Axis];
        var wanted = _step.Closed ? "close" : "open";
        var seconds = $"{_step.Timeout.TotalSeconds:0.###} s";
        return axis.Online
            ? $"input {AxisName}.{_step.Input} did not {wanted} within {seconds}; check what it senses and its wiring"
            : $"input {AxisName}.{_step.Input} did not {wanted} within {seconds}: its drive does not answer";
    }
}
