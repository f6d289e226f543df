using Supervisor.Machine.Commands;
using Supervisor.Machine.Interlocks;
using Supervisor.Machine.Modes;
using Supervisor.Machine.Planning;
using Supervisor.Machine.Watching;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Recovery;

/// <summary>The axes that the machine file lets come back by themselves, and what they have to wait for from each other.</summary>
internal sealed class RecoveryDesk
{
    private readonly MachineView _view;
    private readonly ModeDesk _modes;
    private readonly AxisRecovery?[] _axes;
    private readonly ReducedSpeeds _reduced;

    public RecoveryDesk(MachineView view, AxisGate gate, InterlockDesk interlocks, CommandDesk commands, CommandInbox inbox, IJournal journal, ModeDesk modes,
        ReducedSpeeds reduced)
    {
        _view = view;
        _modes = modes;
        _reduced = reduced;
        _axes = [.. view.Axes.Select((axis, index) =>
            axis.Recovery.Count > 0 ? new AxisRecovery(index, view, gate, interlocks, commands, inbox, this, reduced, journal) : null)];
        commands.Given = (axis, id, kind) => _axes[axis]?.NoteCommand(id, kind);
        commands.StoppedByItself = (axis, epoch) => _axes[axis]?.NoteOwnStop(epoch);
    }

    public void Note(in FaultEvent fault)
    {
        if (_view.IsKnown(fault.Axis) && _modes.Permits(ModeAct.Recover))
        {
            _axes[fault.Axis]?.NoteFault(fault);
        }
    }

    public void Step()
    {
        _reduced.Step();
        foreach (var axis in _axes)
        {
            axis?.Step();
        }
    }

    public void CancelAll(string why)
    {
        foreach (var axis in _axes)
        {
            axis?.Cancel(why);
        }
    }

    /// <summary>An axis that is homed earlier and is on its way there; -1 when there is none.</summary>
    public int EarlierOnItsWay(int axis) => Earlier(axis, wanted: true);

    /// <summary>An axis that is homed earlier, has no zero and is not about to get one; -1 when there is none.</summary>
    public int EarlierWithoutZero(int axis) => Earlier(axis, wanted: false);

    // The file's order keeps axes out of each other's way; that holds as well when only some of them come back.
    private int Earlier(int axis, bool wanted)
    {
        for (var other = 0; other < _view.Axes.Length; other++)
        {
            if (_view.Axes[other].Homing?.Order < _view.Axes[axis].Homing?.Order)
            {
                var isOnItsWay = _view[other].State == AxisState.Homing || _axes[other] is { IsActive: true };
                if (wanted ? isOnItsWay : !isOnItsWay && !_view[other].Referenced)
                {
                    return other;
                }
            }
        }

        return -1;
    }
}
