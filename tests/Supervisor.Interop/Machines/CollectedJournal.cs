using Supervisor.Machine;
using Supervisor.Machine.Alarms;
using Supervisor.Machine.Api;
using Supervisor.Records.Faults;
using Supervisor.Records.Stops;

namespace Supervisor.Interop.Machines;

/// <summary>Keeps what the coordinator tells, to show it where a test fails and to look for faults in it.</summary>
internal sealed class CollectedJournal : IJournal
{
    private readonly Lock _gate = new();
    private readonly List<string> _lines = [];
    private readonly List<FaultCode> _faults = [];

    /// <summary>Faults so far, in order, without what is told of the line: a computer that stalls loses exchanges, too.</summary>
    public IReadOnlyList<FaultCode> Faults
    {
        get
        {
            lock (_gate)
            {
                return [.. _faults.Where(fault => fault is not (FaultCode.DriveErrorsFrequent or FaultCode.LineErrorsFrequent))];
            }
        }
    }

    /// <summary>Everything so far, a line each.</summary>
    public string Text
    {
        get
        {
            lock (_gate)
            {
                return string.Join(Environment.NewLine, _lines);
            }
        }
    }

    public void FaultsLost(int port, long count, TimeSpan at)
    {
        lock (_gate)
        {
            _lines.Add($"{count} faults of port {port} were not told");
        }
    }

    public void Fault(in FaultEvent fault)
    {
        lock (_gate)
        {
            _faults.Add(fault.Code);
        }

        Add($"{fault}");
    }

    public void Interlock(int interlock, InterlockChange change, string inputs, TimeSpan at) => Add($"{at} interlock {interlock} {change} {inputs}");

    public void Timeout(in MeasuredTimeout measured, string holder) => Add($"{measured}");

    public void Recovery(in RecoveryNote note) => Add($"{note}");

    public void Command(MachineCommand command, string holder, CommandAnswer answer, TimeSpan at) => Add($"{at} {command}: {answer}");

    public void Stop(in MeasuredStop stop) => Add($"{stop}");

    public void Returned(int axis, FaultCode after, AxisReturn step, TimeSpan at) => Add($"{at} axis {axis} {step} after {after}");

    public void Port(int port, bool open, TimeSpan at) => Add($"{at} port {port} {(open ? "open" : "gone")}");

    public void Alarm(in AlarmNote note) => Add($"{note}");

    private void Add(string line)
    {
        lock (_gate)
        {
            _lines.Add(line);
        }
    }
}
