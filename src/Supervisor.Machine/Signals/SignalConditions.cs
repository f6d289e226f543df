using Supervisor.Configuration.Signals;
using Supervisor.Machine.Alarms;
using Supervisor.Machine.Interlocks;
using Supervisor.Machine.Modes;
using Supervisor.Machine.Watching;
using Supervisor.Configuration.Machines;
using Supervisor.Records.Axes;

namespace Supervisor.Machine.Signals;

/// <summary>Which states of the machine hold that signal lights tell of. Allocates nothing.</summary>
internal sealed class SignalConditions(MachineView view, InterlockDesk interlocks, ModeDesk modes, AlarmDesk alarms)
{
    private AlarmSummary _alarms;
    private long _version = -1;

    /// <summary>The alarms as of the last look.</summary>
    public AlarmSummary Alarms => _alarms;

    /// <summary>Looks at everything.</summary>
    public SignalStates Look()
    {
        if (alarms.Version != _version)
        {
            _version = alarms.Version;
            _alarms = AlarmSummary.Of(alarms);
        }

        var states = SignalStates.Always | _alarms.States | Mode();
        states |= Interlocks(out var forbids);
        return states | Axes(forbids);
    }

    private SignalStates Mode() => modes.Mode switch
    {
        MachineMode.Maintenance => SignalStates.Maintenance,
        MachineMode.Manual => SignalStates.Manual,
        _ => SignalStates.Production,
    };

    private SignalStates Interlocks(out bool forbids)
    {
        var states = SignalStates.None;
        forbids = false;
        foreach (var interlock in interlocks.All)
        {
            if (interlock.Forbids || interlock.Open != 0)
            {
                forbids = true;
                states |= interlock.Definition.Kind == InterlockKind.EmergencyStop ? SignalStates.EmergencyStop : SignalStates.InterlockOpen;
                states |= interlock.Open == 0 ? SignalStates.PersonNeeded : SignalStates.None;
            }
        }

        return states;
    }

    private SignalStates Axes(bool forbids)
    {
        var states = SignalStates.None;
        var ready = !forbids;
        for (var axis = 0; axis < view.Axes.Length; axis++)
        {
            var state = view[axis].State;
            states |= state == AxisState.Faulted ? SignalStates.AxisFaulted : SignalStates.None;
            states |= state is AxisState.Moving or AxisState.Homing ? SignalStates.Moving : SignalStates.None;
            states |= view.Board.Latch.IsLocked(axis) ? SignalStates.PersonNeeded : SignalStates.None;
            ready &= state == AxisState.Ready && view.IsOnline(axis) && !view.Board.Latch.IsLocked(axis);
        }

        return states | (ready ? SignalStates.Ready : SignalStates.None);
    }
}
