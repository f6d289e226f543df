using Supervisor.Records.Axes;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Watching;

/// <summary>Tells when a faulted axis is back: cleared, then energised again. How long a machine stood is counted by it.</summary>
internal sealed class ReturnWatch(MachineView view, IJournal journal)
{
    private readonly (FaultCode After, bool IsCleared)[] _axes = new (FaultCode, bool)[view.Axes.Length];

    public void Step()
    {
        for (var axis = 0; axis < _axes.Length; axis++)
        {
            Look(axis, view[axis].State, ref _axes[axis]);
        }
    }

    private void Look(int axis, AxisState state, ref (FaultCode After, bool IsCleared) seen)
    {
        if (state == AxisState.Faulted)
        {
            seen = view[axis].IsFaultProvoked ? default : (view[axis].Fault, false);
            return;
        }

        if (seen.After == FaultCode.None)
        {
            return;
        }

        if (!seen.IsCleared)
        {
            seen.IsCleared = true;
            journal.Returned(axis, seen.After, AxisReturn.Cleared, view.Now);
        }

        if (state is AxisState.Ready or AxisState.Moving)
        {
            journal.Returned(axis, seen.After, AxisReturn.Ready, view.Now);
            seen = default;
        }
    }
}
