using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Watching;
using Supervisor.Records.Alarms;
using Supervisor.Records.Faults;
using Supervisor.Records.Stops;

namespace Supervisor.Machine.Alarms;

/// <summary>Hears all that the journal is told, hands it on, and raises the alarms of it.</summary>
/// <remarks>
/// Faults that follow from a hardware stop are recorded and raise no alarm, since nothing is wrong (the standard's suppression by design). Interlocks that
/// open are shown as such; only the disagreement of their channels is an alarm.
/// </remarks>
internal sealed class AlarmJournal(MachineDefinition machine, IJournal inner, AlarmDesk desk) : IJournal
{
    private int _discrepancy = -1;

    public void Fault(in FaultEvent fault)
    {
        inner.Fault(fault);
        if (fault.ConsequenceOf >= 0)
        {
            return;
        }

        var entry = FaultCatalogue.Entry(fault.Code);
        var key = new AlarmKey((int)fault.Code, SourceOf(fault));
        var identity = IdentityTexts.Of(machine, fault);
        var detail = identity.Length > 0 ? identity : fault.DriveCode != 0 ? $"drive code {fault.DriveCode}" : "";
        desk.Occur(key, entry.Priority, AlarmEnds.IsLatching(fault.Code), detail, fault.At);
        if (AlarmEnds.IsMomentary(fault.Code))
        {
            desk.Clear(key);
        }
    }

    public void Port(int port, bool open, TimeSpan at)
    {
        inner.Port(port, open, at);
        var key = new AlarmKey((int)FaultCode.LinkLost, AlarmSource.Port(port));
        if (open)
        {
            desk.Clear(key);
        }
        else
        {
            desk.Raise(key, FaultCatalogue.Entry(FaultCode.LinkLost).Priority);
        }
    }

    public void Interlock(int interlock, InterlockChange change, string inputs, TimeSpan at)
    {
        inner.Interlock(interlock, change, inputs, at);

        // The fault that follows does not say whose channels disagree.
        _discrepancy = change == InterlockChange.Discrepancy ? interlock : _discrepancy;
    }

    public void FaultsLost(int port, long count, TimeSpan at) => inner.FaultsLost(port, count, at);

    public void Recovery(in RecoveryNote note) => inner.Recovery(note);

    public void Command(MachineCommand command, string holder, CommandAnswer answer, TimeSpan at) => inner.Command(command, holder, answer, at);

    public void Stop(in MeasuredStop stop) => inner.Stop(stop);

    public void Returned(int axis, FaultCode after, AxisReturn step, TimeSpan at) => inner.Returned(axis, after, step, at);

    public void Timeout(in MeasuredTimeout measured, string holder) => inner.Timeout(measured, holder);

    public void Alarm(in AlarmNote note) => inner.Alarm(note);

    private AlarmSource SourceOf(in FaultEvent fault) =>
        fault.Axis >= 0 ? AlarmSource.Axis(fault.Axis)
        : fault.Module >= 0 ? AlarmSource.Module(fault.Module)
        : fault.Output >= 0 ? AlarmSource.Output(fault.Output)
        : fault.Code == FaultCode.ChannelDiscrepancy ? AlarmSource.Interlock(_discrepancy)
        : fault.Port >= 0 ? AlarmSource.Port(fault.Port)
        : AlarmSource.Machine;
}
