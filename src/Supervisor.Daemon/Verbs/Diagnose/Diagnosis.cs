using Supervisor.Bus.Links;
using Supervisor.Configuration.Machines;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Verbs.Diagnose;

/// <summary>
/// Looks at everything a machine file names and tells what it found, with what to do about each thing that is wrong. It opens ports for itself
/// and reads; no register, coil or output is written. It runs without a daemon and refuses beside one.
/// </summary>
/// <remarks>What reads well here is not proven to stop: no check of this program replaces the tests of the safety circuit.</remarks>
public sealed class Diagnosis
{
    private readonly MachineDefinition _machine;
    private readonly DiagnosisPlaces _places;
    private readonly PortDiagnosis[] _ports;
    private readonly DriveDiagnosis?[] _drives;
    private readonly ModuleDiagnosis?[] _modules;

    public Diagnosis(MachineDefinition machine, DiagnosisPlaces places)
    {
        ArgumentNullException.ThrowIfNull(machine);
        (_machine, _places) = (machine, places);
        _ports = [.. machine.Ports.Select(port => new PortDiagnosis(port, places))];
        _drives = new DriveDiagnosis?[machine.Axes.Count];
        _modules = new ModuleDiagnosis?[machine.Modules.Count];
    }

    /// <summary>Runs it.</summary>
    /// <param name="refusal">Why nothing was read; empty when it was.</param>
    /// <returns>What was found; empty when it is refused.</returns>
    public IReadOnlyList<DiagnosedThing> Run(out string refusal)
    {
        try
        {
            foreach (var port in _ports)
            {
                port.Look();
            }

            refusal = HeldByDaemon();
            if (refusal.Length > 0)
            {
                return [];
            }

            foreach (var port in _ports)
            {
                port.Open();
            }

            refusal = HeldUnseen();
            if (refusal.Length > 0)
            {
                return [];
            }

            for (var port = 0; port < _ports.Length; port++)
            {
                Read(port);
            }

            return Things();
        }
        finally
        {
            foreach (var port in _ports)
            {
                port.Link?.Dispose();
            }
        }
    }

    private string HeldByDaemon()
    {
        for (var port = 0; port < _ports.Length; port++)
        {
            if (_ports[port].Holders.FirstOrDefault(IsDaemon) is { } daemon)
            {
                return $"the daemon (process {daemon.Process}) holds port {_machine.Ports[port].Name}: bring the machine to rest and stop the daemon first (systemctl stop axis-supervisor), or ask the daemon itself: `axis-supervisor status`";
            }
        }

        return "";
    }

    /// <summary>The processes of other users can't be seen, but their daemon's socket can.</summary>
    private string HeldUnseen()
    {
        for (var port = 0; port < _ports.Length; port++)
        {
            if (_ports[port] is { Failure: OpenFailure.Busy, Holders.Count: 0 } && _places.DaemonSocket() is { } socket)
            {
                return $"port {_machine.Ports[port].Name} is held, and a daemon's socket is at {socket}: bring the machine to rest and stop the daemon first (systemctl stop axis-supervisor), or ask the daemon itself: `axis-supervisor status`";
            }
        }

        return "";
    }

    private void Read(int index)
    {
        var port = _machine.Ports[index];
        if (_ports[index].Link is not { } link)
        {
            return;
        }

        var line = new LineReader(port, _ports[index].Line, link, _places.Clock);
        for (var axis = 0; axis < _drives.Length; axis++)
        {
            if (_machine.Axes[axis].Port == index)
            {
                _drives[axis] = new DriveDiagnosis(_machine.Axes[axis], port, line);
                _drives[axis]!.Run();
            }
        }

        for (var module = 0; module < _modules.Length; module++)
        {
            if (_machine.Modules[module].Port == index)
            {
                _modules[module] = new ModuleDiagnosis(_machine.Modules[module], port, line);
                _modules[module]!.Run();
            }
        }

        Judge(index, line);
    }

    private void Judge(int index, LineReader line)
    {
        var port = _machine.Ports[index];
        if (line.HearsItself)
        {
            _ports[index].Add(Finding.Wrong(SelfHearing.Finding, SelfHearing.Advice));
            return;
        }

        if (!line.HasHeard)
        {
            var count = _machine.Axes.Count(axis => axis.Port == index) + _machine.Modules.Count(module => module.Port == index);
            if (count > 0)
            {
                _ports[index].Add(Finding.Wrong(
                    line.HasHeardNoise ? "nobody on this line answers, only noise" : "nobody on this line answers",
                    line.HasHeardNoise
                        ? $"compare the line settings ({Trouble.Settings(port)}), then check termination, bias and ground"
                        : "check that A and B are not swapped, that the adapter is wired to this line and drives it (RS-485 direction), then the drives' supply and line settings"));
            }

            return;
        }

        var round = TimeSpan.Zero;
        foreach (var duration in _drives.Where((_, axis) => _machine.Axes[axis].Port == index).Select(drive => drive?.Duration ?? TimeSpan.Zero)
            .Concat(_modules.Where((_, module) => _machine.Modules[module].Port == index).Select(module => module?.Duration ?? TimeSpan.Zero)))
        {
            round += duration + _ports[index].Line.FrameGap;
        }

        var what = $"reading all that answered takes {Text.Of(Math.Round(round.TotalMilliseconds, 1))} ms of a cycle of {Text.Of(port.Cycle.TotalMilliseconds)} ms";
        _ports[index].Add(round < port.Cycle ? Finding.Good(what) : Finding.Wrong(what, $"raise cycleMs, or the baud rate of the line; commands need time too"));
    }

    private List<DiagnosedThing> Things()
    {
        var things = new List<DiagnosedThing>(_ports.Select(port => port.Result));
        things.AddRange(_drives.Select((drive, axis) => drive?.Result ?? NotAsked("drive", _machine.Axes[axis].Name, _machine.Axes[axis].Port, _machine.Axes[axis].Address)));
        things.AddRange(_modules.Select((module, i) => module?.Result ?? NotAsked("module", _machine.Modules[i].Name, _machine.Modules[i].Port, _machine.Modules[i].Address)));
        things.AddRange(new PlaceDiagnosis(_machine, _places, Level, Output).Things());
        return things;
    }

    private DiagnosedThing NotAsked(string kind, string name, int port, byte address) => new(
        kind, name, $"{_machine.Ports[port].Name}, address {address}", [Finding.Note($"not asked: port {_machine.Ports[port].Name} is not open")]);

    private bool? Level(InputReference input) => input switch
    {
        { Module: { } bit } => _modules[bit.Module]?.Input(bit.Bit),
        { Source: InputSource.Drive, Bit: { } bit } => _drives[input.Axis]?.Input(bit),
        _ => null,
    };

    private bool? Output(OutputReference output) => output.Module is { } bit ? _modules[bit.Module]?.Output(bit.Bit) : null;

    internal static bool IsDaemon(DeviceHolder holder)
    {
        var words = holder.Command.Split(' ', StringSplitOptions.RemoveEmptyEntries);
        var program = Array.FindIndex(words, word => Path.GetFileNameWithoutExtension(word) == "axis-supervisor");
        return program >= 0 && words.Length > program + 1 && words[program + 1] is "serve" or "demo";
    }
}
