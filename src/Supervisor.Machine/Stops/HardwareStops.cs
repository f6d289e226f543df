using Supervisor.Configuration.Machines;
using Supervisor.Machine.Interlocks;
using Supervisor.Machine.Watching;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Stops;

/// <summary>
/// Faults that only say what a hardware stop did: its safety relay takes the drives' power after its off-delay, and a drive that tells of
/// under-voltage or of lost torque then is no cause of anything. Who looks for the cause must not begin there.
/// </summary>
/// <remarks>Only where the machine file states the off-delay: without it nobody knows that power goes.</remarks>
internal sealed class HardwareStops(MachineView view, InterlockDesk interlocks)
{
    /// <summary>The drive's link voltage falls by its capacitors, not with the contactor (common practice, no source).</summary>
    public static readonly TimeSpan Margin = TimeSpan.FromSeconds(2);

    // By axis: what was told last, as code and interlock. Faces read it on threads of their own.
    private readonly long[] _told = new long[view.Axes.Length];

    /// <summary>The interlock whose hardware stop a fault follows from; null: it stands for itself.</summary>
    /// <param name="axis">Index of the axis.</param>
    /// <param name="code">What the axis told.</param>
    /// <param name="at">When it was seen, on the clock of the ports.</param>
    public InterlockMonitor? CauseOf(int axis, FaultCode code, TimeSpan at)
    {
        if (code is not (FaultCode.UnderVoltage or FaultCode.TorqueLostUnexpectedly) || !view.IsKnown(axis))
        {
            return null;
        }

        foreach (var interlock in interlocks.Of(axis))
        {
            // Once it is reset, power is back, and what fails then fails by itself. A port may see the fault a cycle before the input is read.
            var isMeant = interlock is { HasOpened: true, OpenedAt: not null, Definition: { Kind: not InterlockKind.Process, OffDelay: not null } };
            if (isMeant && at >= interlock.OpenedAt - interlock.Definition.StaleAfter && at <= interlock.OpenedAt + interlock.Definition.OffDelay + Margin)
            {
                return interlock;
            }
        }

        return null;
    }

    /// <summary>The fault with its mark, to be told.</summary>
    public FaultEvent Marked(in FaultEvent fault)
    {
        if (!view.IsKnown(fault.Axis))
        {
            return fault;
        }

        var cause = CauseOf(fault.Axis, fault.Code, fault.At);
        Volatile.Write(ref _told[fault.Axis], cause is null ? 0 : ((long)fault.Code << 16) | (uint)(cause.Index + 1));
        return cause is null ? fault : fault with { ConsequenceOf = (short)cause.Index };
    }

    /// <summary>Index of the interlock whose hardware stop the latched fault of an axis follows from; -1: none. Any thread.</summary>
    public int Of(int axis, AxisState state, FaultCode latched)
    {
        var told = Volatile.Read(ref _told[axis]);
        return state == AxisState.Faulted && told != 0 && (FaultCode)(told >> 16) == latched ? (int)(told & 0xFFFF) - 1 : -1;
    }
}
