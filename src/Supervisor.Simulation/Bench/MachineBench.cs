using System.ComponentModel;
using System.Runtime.Versioning;
using Supervisor.Bus;
using Supervisor.Configuration.Machines;
using Supervisor.Simulation.Wires;

namespace Supervisor.Simulation.Bench;

/// <summary>All drives and modules of a machine file on pseudo-terminals, one thread a port, obeying lines of text: a machine to try a supervisor on without one.</summary>
/// <remarks>Each port's device is found by the symbolic link LINK-DIR/PORT-NAME.</remarks>
[SupportedOSPlatform("linux")]
public sealed class MachineBench : IDisposable
{
    private readonly SimulatedMachine _machine;
    private readonly List<PortBench> _ports = [];
    private readonly Lock _writing = new();
    private TextWriter? _output;

    /// <summary>Prepares it; nothing is there until <see cref="Start"/>.</summary>
    /// <param name="machine">The machine file.</param>
    /// <param name="linkDirectory">Folder for the links; made when missing.</param>
    /// <param name="clock">The clock the drives live by.</param>
    /// <param name="seed">Decides where the axes stand and the drives' serial numbers.</param>
    /// <param name="log">Told of every answer; null: nobody is.</param>
    /// <exception cref="ArgumentException">A port's name can't be a file name.</exception>
    public MachineBench(MachineDefinition machine, string linkDirectory, IMonotonicClock clock, ulong seed = 1, BenchLog? log = null)
    {
        _machine = new SimulatedMachine(machine, seed);
        string folder = Path.GetFullPath(linkDirectory);
        foreach (var line in _machine.Lines)
        {
            line.Answered = log is null ? null : log.Answered;
            string name = line.Port.Name;
            if (name is "." or ".." || name.Contains('/', StringComparison.Ordinal) || name.Contains('\0', StringComparison.Ordinal))
            {
                throw new ArgumentException($"port '{name}' can't have a link: its name is no file name", nameof(machine));
            }

            _ports.Add(new PortBench(line, Path.Combine(folder, name), clock, Fail));
        }
    }

    /// <summary>
    /// When the asking side last handed over a request, where it lives in this process and can say so: the wire's time then begins there, as on a
    /// UART, and not when the thread of the drives woke to it. Null: it begins when the request was seen. Set before <see cref="Start"/>; asked by the threads of the ports.
    /// </summary>
    public Func<TimeSpan>? RequestBegunAt
    {
        set => _ports.ForEach(port => port.RequestBegunAt = value);
    }

    /// <summary>Makes all device nodes and links and lets the drives live.</summary>
    /// <exception cref="IOException">A link can't be made.</exception>
    /// <exception cref="Win32Exception">The system gives no pseudo-terminal.</exception>
    public void Start()
    {
        foreach (var port in _ports)
        {
            Directory.CreateDirectory(Path.GetDirectoryName(port.Link)!);
            port.Start();
        }
    }

    /// <summary>Starts, tells <c>ready</c> with each port's link, then obeys line by line until <c>quit</c> or the end of the input.</summary>
    /// <param name="input">Lines as in <see cref="BenchCommand.Usage"/>.</param>
    /// <param name="output">One line for each: <c>ok …</c> or <c>error: …</c>.</param>
    public void Run(TextReader input, TextWriter output)
    {
        _output = output;
        try
        {
            Start();
            Say("ready " + string.Join(' ', _ports.Select(port => $"{port.Name}={port.Link}")));
            Obey(input);
        }
        finally
        {
            Dispose();
        }
    }

    /// <summary>Obeys one line.</summary>
    /// <returns><c>ok …</c> or <c>error: …</c>.</returns>
    public string Execute(string line, out bool quit)
    {
        quit = false;
        if (!BenchCommand.TryParse(line, _machine.Machine, out var command, out string error))
        {
            return "error: " + error;
        }

        quit = command!.Verb == BenchVerb.Quit;
        if (command.Verb == BenchVerb.Outputs)
        {
            return $"ok outputs {Outputs()}";
        }

        try
        {
            string? trouble = command.Module >= 0 ? OnModule(command) : command.Port >= 0 ? OnPort(command) : OnAxis(command);
            return trouble is null ? "ok " + string.Join(' ', line.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries)) : "error: " + trouble;
        }
        catch (Exception exception) when (exception is IOException or Win32Exception or UnauthorizedAccessException)
        {
            return "error: " + exception.Message;
        }
    }

    /// <summary>Ends the threads, closes the device nodes and removes the links.</summary>
    public void Dispose()
    {
        foreach (var port in _ports)
        {
            port.Dispose();
        }
    }

    private void Obey(TextReader input)
    {
        bool quit = false;
        while (!quit && input.ReadLine() is { } line)
        {
            if (!string.IsNullOrWhiteSpace(line))
            {
                Say(Execute(line, out quit));
            }
        }
    }

    /// <summary>Every output as it is at its terminal, 1 for on: a drive's by name, a module's from its first bit on and those with a name once more by it.</summary>
    private string Outputs()
    {
        var told = new List<string>();
        foreach (var drive in _machine.Drives)
        {
            _ports[drive.Axis.Port].Do(() => told.AddRange(drive.Axis.Drive.Outputs.Keys.Select(name => $"{drive.Axis.Name}.{name}={(drive.Output(name) ? 1 : 0)}")));
        }

        foreach (var module in _machine.Modules)
        {
            if (module.Module.Outputs is { } outputs)
            {
                _ports[module.Module.Port].Do(() =>
                {
                    told.Add($"module:{module.Module.Name}={string.Concat(module.Outputs.ToArray().Select(on => on ? '1' : '0'))}");
                    foreach (var (name, bit) in outputs.Names)
                    {
                        told.Add($"module:{module.Module.Name}/{name}={(module.Outputs[bit] ? 1 : 0)}");
                    }
                });
            }
        }

        return told.Count == 0 ? "none" : string.Join(' ', told);
    }

    private string? OnPort(BenchCommand command)
    {
        var port = _ports[command.Port];
        if (command.Verb == BenchVerb.Echo)
        {
            port.HearsItself = command.Value == 1;
            return null;
        }

        bool plug = command.Verb == BenchVerb.Plug;
        if (port.IsPlugged == plug)
        {
            return $"port '{port.Name}' is {(plug ? "plugged in" : "unplugged")} already";
        }

        if (plug)
        {
            port.Plug();
        }
        else
        {
            port.Unplug();
        }

        return null;
    }

    private string? OnModule(BenchCommand command)
    {
        var module = _machine.Modules[command.Module];
        _ports[module.Module.Port].Do(() =>
        {
            switch (command.Verb)
            {
                case BenchVerb.Input:
                    module.Inputs[command.Bit] = command.Value == 1;
                    break;
                case BenchVerb.Restart:
                    module.Restart();
                    break;
                case BenchVerb.Unplug or BenchVerb.Plug:
                    module.IsUnplugged = command.Verb == BenchVerb.Unplug;
                    break;
            }
        });
        return null;
    }

    private string? OnAxis(BenchCommand command)
    {
        if (command.Axis < 0)
        {
            return null;
        }

        var drive = _machine.Drives[command.Axis];
        _ports[drive.Axis.Port].Do(() =>
        {
            switch (command.Verb)
            {
                case BenchVerb.Input:
                    drive.SetInput(command.Input, command.Value == 1);
                    break;
                case BenchVerb.Fault:
                    drive.Trip(command.Value);
                    break;
                case BenchVerb.Jam or BenchVerb.Free:
                    drive.Plant.Jammed = command.Verb == BenchVerb.Jam;
                    break;
                case BenchVerb.Restart:
                    drive.Restart();
                    break;
                case BenchVerb.Exchange:
                    drive.Exchange(drive.SerialNumber + 1);
                    break;
            }
        });
        return null;
    }

    private void Fail(PortBench port, Exception exception) => Say($"error: port '{port.Name}' has stopped: {exception.Message}");

    private void Say(string text)
    {
        lock (_writing)
        {
            _output?.WriteLine(text);
            _output?.Flush();
        }
    }
}
