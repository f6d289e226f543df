using Supervisor.Machine.Brakes;
using Supervisor.Machine.Commands;
using Supervisor.Machine.Recovery;
using Supervisor.Machine.Stops;
using Supervisor.Records.Faults;
using Supervisor.Runtime;

namespace Supervisor.Machine.Watching;

/// <summary>Empties what the ports say: reports to the commands, faults to the journal and to recovery, the port's own coming and going.</summary>
internal sealed class PortWatch(MachineBoard board, MachineView view, HardwareStops hardware, IJournal journal)
{
    // A port that starts needs a moment to open its device; only then is a missing one worth telling.
    private static readonly TimeSpan FirstOpening = TimeSpan.FromSeconds(2);
    private readonly List<FaultEvent> _told = new(64);
    private readonly PortSight[] _seen = new PortSight[board.Ports.Count];
    private readonly long[] _faultsLost = new long[board.Ports.Count];
    private readonly TimeSpan?[] _firstSteps = new TimeSpan?[board.Ports.Count];

    private enum PortSight : byte
    {
        Unknown,
        Open,
        Lost,
    }

    /// <summary>Before the snapshots are read, so that these are never older than a report.</summary>
    public void DrainReports(CommandDesk commands)
    {
        for (var port = 0; port < board.Ports.Count; port++)
        {
            while (board.Ports[port].Reports.TryRead(out var report))
            {
                commands.Note(report);
            }
        }
    }

    public void DrainFaults(RecoveryDesk recovery, BrakeDesk brakes)
    {
        for (var port = 0; port < board.Ports.Count; port++)
        {
            while (board.Ports[port].Faults.TryRead(out var told))
            {
                Enter(told);
            }
        }

        foreach (var told in _told)
        {
            var fault = hardware.Marked(told);
            journal.Fault(fault);
            recovery.Note(fault);
            brakes.Note(fault);
        }

        _told.Clear();
    }

    /// <summary>In the order in which they were seen, whichever port tells first: the first one leads whoever looks for the cause.</summary>
    private void Enter(in FaultEvent fault)
    {
        var place = _told.Count;
        while (place > 0 && _told[place - 1].At > fault.At)
        {
            place--;
        }

        _told.Insert(place, fault);
    }

    public void DrainStops(StopTrend trend)
    {
        for (var port = 0; port < board.Ports.Count; port++)
        {
            while (board.Ports[port].Stops.TryRead(out var stop))
            {
                journal.Stop(stop);
                trend.Note(stop);
            }
        }
    }

    /// <summary>Tells when a port's device was lost or found; a port that never opened since start is told once it was looked for.</summary>
    public void TellPorts()
    {
        for (var port = 0; port < view.PortCount; port++)
        {
            if (view.Port(port).At <= TimeSpan.Zero)
            {
                continue;
            }

            TellLostFaults(port);
            _firstSteps[port] ??= view.Now;
            var sight = view.Port(port).Open && view.IsAlive(port) ? PortSight.Open : PortSight.Lost;
            var isStarting = _seen[port] == PortSight.Unknown && sight == PortSight.Lost && view.Now - _firstSteps[port] < FirstOpening;
            if (sight != _seen[port] && !isStarting)
            {
                _seen[port] = sight;
                journal.Port(port, sight == PortSight.Open, view.Now);
            }
        }
    }

    private void TellLostFaults(int port)
    {
        var lost = view.Port(port).FaultsLost;
        if (lost != _faultsLost[port])
        {
            journal.FaultsLost(port, lost - _faultsLost[port], view.Now);
            _faultsLost[port] = lost;
        }
    }
}
