using Supervisor.Machine.Api;
using Supervisor.Machine.Brakes;
using Supervisor.Machine.Interlocks;
using Supervisor.Machine.Modes;
using Supervisor.Machine.Outputs;
using Supervisor.Machine.Recovery;
using Supervisor.Machine.Signals;
using Supervisor.Machine.Stops;
using Supervisor.Machine.Zones;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Configuration.Machines;
using Supervisor.Runtime;
using Supervisor.Runtime.Outputs;
using Supervisor.Runtime.Stops;

namespace Supervisor.Machine.Watching;

/// <summary>What faces may read at any time from any thread: the ports' snapshots, and the coordinator's view of the interlocks, swapped whole on change.</summary>
internal sealed class StatusBoard(MachineBoard board, ModeDesk modes, ReducedSpeeds reduced, HardwareStops hardware, ZoneDesk zones, PowerDesk power, AliveOutput alive, SignalDesk signals)
{
    private readonly InterlockKey[] _keys = new InterlockKey[board.Machine.Interlocks.Count];
    private volatile Published _published = new([], 0);
    private readonly ZoneTexts _zoneTexts = new(board.Machine);
    private readonly bool[] _isAlive = new bool[board.Ports.Count];
    private long _nowTicks;

    /// <summary>The mode the machine is in. Any thread.</summary>
    public MachineMode Mode => modes.Mode;

    /// <summary>Publishes the coordinator's view. Allocates only when an interlock changed.</summary>
    public void Publish(InterlockDesk interlocks, MachineView view)
    {
        Volatile.Write(ref _nowTicks, view.Now.Ticks);
        for (var port = 0; port < _isAlive.Length; port++)
        {
            Volatile.Write(ref _isAlive[port], view.IsAlive(port));
        }

        var changed = _published.Interlocks.Length != interlocks.All.Length;
        for (var i = 0; i < _keys.Length; i++)
        {
            var key = InterlockKey.Of(interlocks.All[i]);
            changed |= key != _keys[i];
            _keys[i] = key;
        }

        if (changed)
        {
            _published = Make(interlocks);
        }
    }

    /// <summary>A fresh copy of everything. Any thread.</summary>
    public MachineStatus Read(string? holder)
    {
        var machine = board.Machine;
        var published = _published;
        var standing = board.Latch.Standing();
        var permitted = published.Forbidding == 0 && (standing & InterlocksAndShutDown()) == 0
            && published.Interlocks.All(interlock => interlock is { Open: false, NeedsReset: false });
        return new MachineStatus(
            TimeSpan.FromTicks(Volatile.Read(ref _nowTicks)), machine.Name, ModeDesk.Name(modes.Mode), permitted, holder,
            [.. Enumerable.Range(0, machine.Axes.Count).Select(axis => AxisOf(axis, standing | published.Forbidding))],
            published.Interlocks,
            [.. Enumerable.Range(0, machine.Ports.Count).Select(PortOf)])
        {
            Zones = [.. board.Zones.All.Select(zone => _zoneTexts.Status(zone, zones.Told(zone.First), zones.Told(zone.Second)))],
            Modules = [.. Enumerable.Range(0, machine.Modules.Count).Select(ModuleOf)],
            Outputs = [.. machine.Outputs.Select((output, index) => OutputOf(output, board.Outputs.Cells[index], standing))],
            PowerEnable = PowerOf(),
            Alive = machine.Alive is { } toggled ? new AliveStatus(toggled.Output.Text, alive.Problem.Length == 0, alive.Problem) : null,
            Lights = signals.Lights(),
            Horn = signals.Horn(),
        };
    }

    private ModuleStatus ModuleOf(int module)
    {
        var definition = board.Machine.Modules[module];
        var now = board.Modules[module].Read();
        var online = now.Online && IsAlive(definition.Port);
        var ready = online && now.OutputsReady;
        var whatToDo = !online ? $"See that module {definition.Name} answers on {board.Machine.Ports[definition.Port].Name}, address {definition.Address}."
            : now.Distrusted ? $"Mend the line or plug of module {definition.Name}: too many of its exchanges fail, so its inputs count as open."
            : !ready && definition.Outputs is not null ? $"See why module {definition.Name} does not take its communication time-out: none of its outputs is set."
            : "";
        return new ModuleStatus(definition.Name, online, ready, whatToDo) { ErrorPercent = now.ErrorPercent };
    }

    private OutputStatus OutputOf(OutputDefinition output, OutputCell cell, ulong standing)
    {
        var reading = cell.Read();
        var order = cell.Order;
        var hold = OutputHold.Of(board, output, standing);
        return new OutputStatus(
            output.Name, output.Place.Text, reading.Known ? reading.On : null, reading.Acknowledged == order.Number && order.Number > 0, hold.Because(board.Machine));
    }

    private PowerStatus? PowerOf()
    {
        if (board.Machine.PowerEnable is not { } definition)
        {
            return null;
        }

        var shown = power.Shown;
        var whatToDo = shown.State switch
        {
            PowerState.Faulted => Sentences.Whole(PowerDesk.TextOf(shown.Fault)),
            PowerState.Off when shown.IsFeedbackSilent => $"See that the mirror contact {definition.Feedback.Text} is read.",
            PowerState.Off => "Switch it on (power on) before axes are enabled.",
            _ => "",
        };
        return new PowerStatus(shown.State, shown.Fault, [.. definition.Axes.Select(axis => board.Machine.Axes[axis].Name)], whatToDo);
    }

    private static Published Make(InterlockDesk interlocks)
    {
        var statuses = new InterlockStatus[interlocks.All.Length];
        var forbidding = 0UL;
        for (var i = 0; i < statuses.Length; i++)
        {
            var interlock = interlocks.All[i];
            statuses[i] = new InterlockStatus(
                interlock.Definition.Name, interlock.Open != 0, interlock.IsStanding,
                InterlockTexts.InputList(interlock, interlock.Open), InterlockTexts.WhatToDo(interlock));
            forbidding |= interlock.Forbids ? 1UL << StopCauses.Interlock(i) : 0;
        }

        return new Published(statuses, forbidding);
    }

    private AxisStatus AxisOf(int axis, ulong held)
    {
        var definition = board.Machine.Axes[axis];
        var now = board.Axes[axis].Read();
        return new AxisStatus(
            definition.Name, now.State, now.Detail, now.Referenced, now.Online && IsAlive(definition.Port), now.Position, now.Velocity, now.Torque, now.Target,
            definition.Unit, Holders(board.Causes.Mask(axis) & (held | now.Causes)), now.Fault, now.DriveCode, now.CommandId, now.Inputs,
            board.Latch.IsLocked(axis))
        {
            HeatPercent = now.HeatPercent,
            ErrorPercent = now.ErrorPercent,
            TorqueRmsPercent = now.TorqueRmsPercent,
            TorqueLoad = now.TorqueLoad,
            FaultConsequenceOf = hardware.Of(axis, now.State, now.Fault) is var stop and >= 0 ? board.Machine.Interlocks[stop].Name : null,
            SpeedPercent = reduced.Percent(axis),
            BrakeProof = BrakeProofStatus.Of(definition.Brake?.Proof, board.Proofs[axis].Read(), TimeSpan.FromTicks(Volatile.Read(ref _nowTicks))),
        };
    }

    private List<string> Holders(ulong causes)
    {
        var names = new List<string>();
        for (var left = causes; left != 0; left &= left - 1)
        {
            names.Add(NameOf(StopLatch.First(left)));
        }

        return names;
    }

    private string NameOf(int cause)
    {
        if (board.Causes.InterlockOf(cause) is var interlock and >= 0)
        {
            return board.Machine.Interlocks[interlock].Name;
        }

        if (board.Causes.GroupOf(cause) is not (var index and >= 0))
        {
            return "shut-down";
        }

        var group = board.Machine.Groups[index];
        var faulted = group.Axes.Where(axis => board.Axes[axis].Read().State == AxisState.Faulted).Select(axis => board.Machine.Axes[axis].Name).ToArray();
        return faulted.Length switch
        {
            0 => $"group {group.Name}",
            1 => $"group {group.Name} ({faulted[0]} is faulted)",
            _ => $"group {group.Name} ({Sentences.Names(faulted)} are faulted)",
        };
    }

    private PortStatus PortOf(int port)
    {
        var definition = board.Machine.Ports[port];
        var now = board.Ports[port].Port.Read();
        return new PortStatus(
            definition.Name, now.Open && IsAlive(port), definition.Cycle.TotalMilliseconds, now.Exchanges, now.Errors,
            now.ExchangeP50.TotalMilliseconds, now.ExchangeP99.TotalMilliseconds)
        {
            HeartbeatAgeMs = Math.Max(0, (TimeSpan.FromTicks(Volatile.Read(ref _nowTicks)) - now.At).TotalMilliseconds),
            Problem = now is { Open: true, HearsItself: true } ? $"{SelfHearing.Finding}; {SelfHearing.Advice}" : board.Ports[port].Problem,
            ErrorPercent = now.ErrorPercent,
            LastMinute = new ExchangeCounts(now.ExchangesLastMinute, now.ErrorsLastMinute),
            LastHour = new ExchangeCounts(now.ExchangesLastHour, now.ErrorsLastHour),
            Overruns = new CycleOverruns(now.Overruns, now.WorstLate.TotalMilliseconds),
            OverrunsLastMinute = new CycleOverruns(now.OverrunsLastMinute, now.WorstLateLastMinute.TotalMilliseconds),
            OverrunsLastHour = new CycleOverruns(now.OverrunsLastHour, now.WorstLateLastHour.TotalMilliseconds),
        };
    }

    /// <summary>What a port that no longer steps has last said is not shown as the present.</summary>
    private bool IsAlive(int port) => Volatile.Read(ref _isAlive[port]);

    private ulong InterlocksAndShutDown()
    {
        var mask = 1UL << StopCauses.ShutDown;
        for (var i = 0; i < board.Machine.Interlocks.Count; i++)
        {
            mask |= 1UL << StopCauses.Interlock(i);
        }

        return mask;
    }

    private sealed record Published(InterlockStatus[] Interlocks, ulong Forbidding);

    /// <summary>All that an interlock's status is made of.</summary>
    private readonly record struct InterlockKey(ulong Open, ulong Silent, ulong Unread, bool IsStanding, bool HasDiscrepancy)
    {
        public static InterlockKey Of(InterlockMonitor interlock) =>
            new(interlock.Open, interlock.Silent, interlock.Unread, interlock.IsStanding, interlock.HasDiscrepancy);
    }
}
