using Supervisor.Machine.Alarms;
using Supervisor.Machine.Api;
using Supervisor.Records.Faults;
using Supervisor.Records.Stops;

namespace Supervisor.Machine.Tests.Rig;

/// <summary>Keeps what it is told.</summary>
internal sealed class FakeJournal : IJournal
{
    public List<MeasuredStop> Stops { get; } = [];

    public List<FaultEvent> Faults { get; } = [];

    public List<(int Interlock, InterlockChange Change, string Inputs)> Interlocks { get; } = [];

    public List<RecoveryNote> Recoveries { get; } = [];

    public List<(MachineCommand Command, string Holder, CommandAnswer Answer)> Commands { get; } = [];

    public List<(int Port, bool Open)> Ports { get; } = [];

    public List<(int Axis, FaultCode After, AxisReturn Step)> Returns { get; } = [];

    /// <summary>Called in the midst of the coordinator's step.</summary>
    public Action<int>? OnInterlock { get; set; }

    public void Clear()
    {
        Faults.Clear();
        Interlocks.Clear();
        Recoveries.Clear();
        Commands.Clear();
        Ports.Clear();
    }

    public IEnumerable<InterlockChange> ChangesOf(int interlock) => Interlocks.Where(entry => entry.Interlock == interlock).Select(entry => entry.Change);

    void IJournal.Fault(in FaultEvent fault) => Faults.Add(fault);

    public List<(int Port, long Count)> LostFaults { get; } = [];

    void IJournal.FaultsLost(int port, long count, TimeSpan at) => LostFaults.Add((port, count));

    void IJournal.Interlock(int interlock, InterlockChange change, string inputs, TimeSpan at)
    {
        Interlocks.Add((interlock, change, inputs));
        OnInterlock?.Invoke(interlock);
    }

    void IJournal.Recovery(in RecoveryNote note) => Recoveries.Add(note);

    void IJournal.Command(MachineCommand command, string holder, CommandAnswer answer, TimeSpan at) => Commands.Add((command, holder, answer));

    void IJournal.Stop(in MeasuredStop stop) => Stops.Add(stop);

    void IJournal.Returned(int axis, FaultCode after, AxisReturn step, TimeSpan at) => Returns.Add((axis, after, step));

    void IJournal.Timeout(in MeasuredTimeout measured, string holder)
    {
    }

    void IJournal.Port(int port, bool open, TimeSpan at) => Ports.Add((port, open));

    public List<AlarmNote> Alarms { get; } = [];

    void IJournal.Alarm(in AlarmNote note) => Alarms.Add(note);
}
