using System.Globalization;
using Supervisor.Configuration.Machines;

namespace Supervisor.Simulation.Bench;

/// <summary>What a line to the bench asks for.</summary>
public enum BenchVerb
{
    /// <summary>Closes or opens a digital input.</summary>
    Input = 0,

    /// <summary>Raises a fault in a drive.</summary>
    Fault = 1,

    /// <summary>Blocks an axis.</summary>
    Jam = 2,

    /// <summary>Takes the block away.</summary>
    Free = 3,

    /// <summary>Takes a drive's power away for a moment.</summary>
    Restart = 4,

    /// <summary>Pulls the plug of a port.</summary>
    Unplug = 5,

    /// <summary>Plugs a port in.</summary>
    Plug = 6,

    /// <summary>Ends the bench.</summary>
    Quit = 7,

    /// <summary>Puts another drive of the same kind in a drive's place, as the factory left it.</summary>
    Exchange = 8,

    /// <summary>Tells the levels of all digital outputs.</summary>
    Outputs = 9,

    /// <summary>Lets a port's adapter hear what it sends, or not.</summary>
    Echo = 10,
}

/// <summary>One line to the bench, checked against the machine.</summary>
/// <param name="Verb">What to do.</param>
/// <param name="Axis">Index of the axis; -1 where none is named.</param>
/// <param name="Port">Index of the port; -1 where none is named.</param>
/// <param name="Input">Name of the input; empty where none is named.</param>
/// <param name="Value">1 or 0 of the input or echo; error code of the fault.</param>
/// <param name="Module">Index of the module; -1 where none is named.</param>
/// <param name="Bit">Bit of a module's input.</param>
public sealed record BenchCommand(BenchVerb Verb, int Axis, int Port, string Input, ushort Value, int Module = -1, int Bit = 0)
{
    /// <summary>The lines it understands.</summary>
    public const string Usage =
        "input AXIS.NAME 0|1, input module:NAME/BIT 0|1, fault AXIS CODE, jam AXIS, free AXIS, restart AXIS|module:NAME, exchange AXIS, unplug PORT|module:NAME, plug PORT|module:NAME, echo PORT 0|1, outputs, quit";

    /// <summary>Reads a line.</summary>
    /// <param name="line">The line; names may hold blanks.</param>
    /// <param name="machine">The machine whose axes and ports are meant.</param>
    /// <param name="command">The command, when it is good.</param>
    /// <param name="error">What is wrong and what to write instead; empty when it is good.</param>
    public static bool TryParse(string line, MachineDefinition machine, out BenchCommand? command, out string error)
    {
        string text = line.Trim();
        int blank = text.IndexOfAny([' ', '\t']);
        string verb = blank < 0 ? text : text[..blank];
        string rest = blank < 0 ? "" : text[blank..].Trim();
        command = null;
        error = "";
        command = verb switch
        {
            "input" when ModuleLine.Is(rest) => ModuleLine.ParseInput(rest, machine, out error),
            "restart" when ModuleLine.Is(rest) => ModuleLine.Of(BenchVerb.Restart, rest, machine, out error),
            "unplug" when ModuleLine.Is(rest) => ModuleLine.Of(BenchVerb.Unplug, rest, machine, out error),
            "plug" when ModuleLine.Is(rest) => ModuleLine.Of(BenchVerb.Plug, rest, machine, out error),
            "input" => ParseInput(rest, machine, out error),
            "fault" => ParseFault(rest, machine, out error),
            "jam" => OfAxis(BenchVerb.Jam, rest, machine, out error),
            "free" => OfAxis(BenchVerb.Free, rest, machine, out error),
            "restart" => OfAxis(BenchVerb.Restart, rest, machine, out error),
            "exchange" => OfAxis(BenchVerb.Exchange, rest, machine, out error),
            "unplug" => OfPort(BenchVerb.Unplug, rest, machine, out error),
            "plug" => OfPort(BenchVerb.Plug, rest, machine, out error),
            "echo" => ParseEcho(rest, machine, out error),
            "outputs" => rest.Length == 0 ? new BenchCommand(BenchVerb.Outputs, -1, -1, "", 0) : Wrong($"'outputs' stands alone, not with '{rest}'", out error),
            "quit" => rest.Length == 0 ? new BenchCommand(BenchVerb.Quit, -1, -1, "", 0) : Wrong($"'quit' stands alone, not with '{rest}'", out error),
            _ => Wrong($"unknown command '{verb}'; known: {Usage}", out error),
        };
        return command is not null;
    }

    private static BenchCommand? ParseInput(string rest, MachineDefinition machine, out string error)
    {
        var (name, level) = SplitLast(rest);
        if (level is not ("0" or "1"))
        {
            return Wrong("write: input AXIS.NAME 0|1 or input module:NAME/BIT 0|1 (1 closed, 0 open)", out error);
        }

        int axis = AxisBefore(name, machine, out string input);
        if (axis < 0)
        {
            int dot = name.IndexOf('.', StringComparison.Ordinal);
            return dot < 0
                ? Wrong($"'{name}' names no input; write: input AXIS.NAME 0|1", out error)
                : UnknownAxis(name[..dot], machine, out error);
        }

        var inputs = machine.Axes[axis].Drive.Inputs;
        if (!inputs.ContainsKey(input))
        {
            string known = inputs.Count == 0 ? "it has none" : "known inputs: " + string.Join(", ", inputs.Keys);
            return Wrong($"axis '{machine.Axes[axis].Name}' has no input '{input}'; {known}", out error);
        }

        error = "";
        return new BenchCommand(BenchVerb.Input, axis, -1, input, (ushort)(level == "1" ? 1 : 0));
    }

    private static BenchCommand? ParseFault(string rest, MachineDefinition machine, out string error)
    {
        var (name, code) = SplitLast(rest);
        if (name.Length == 0)
        {
            return Wrong("write: fault AXIS CODE (such as 0x8611 or 34321)", out error);
        }

        int axis = FindAxis(name, machine);
        if (axis < 0)
        {
            return UnknownAxis(name, machine, out error);
        }

        bool hexadecimal = code.StartsWith("0x", StringComparison.OrdinalIgnoreCase);
        bool good = hexadecimal
            ? ushort.TryParse(code.AsSpan(2), NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture, out ushort value)
            : ushort.TryParse(code, NumberStyles.None, CultureInfo.InvariantCulture, out value);
        if (!good || value == 0)
        {
            return Wrong($"'{code}' is no fault code; give 1 to 65535, or 0x0001 to 0xFFFF", out error);
        }

        error = "";
        return new BenchCommand(BenchVerb.Fault, axis, -1, "", value);
    }

    private static BenchCommand? ParseEcho(string rest, MachineDefinition machine, out string error)
    {
        var (name, on) = SplitLast(rest);
        return on is "0" or "1"
            ? OfPort(BenchVerb.Echo, name, machine, out error) is { } command ? command with { Value = (ushort)(on == "1" ? 1 : 0) } : null
            : Wrong("write: echo PORT 0|1 (1: its adapter hears what it sends)", out error);
    }

    private static BenchCommand? OfAxis(BenchVerb verb, string name, MachineDefinition machine, out string error)
    {
        int axis = FindAxis(name, machine);
        if (axis < 0)
        {
            return UnknownAxis(name, machine, out error);
        }

        error = "";
        return new BenchCommand(verb, axis, -1, "", 0);
    }

    private static BenchCommand? OfPort(BenchVerb verb, string name, MachineDefinition machine, out string error)
    {
        for (int i = 0; i < machine.Ports.Count; i++)
        {
            if (machine.Ports[i].Name == name)
            {
                error = "";
                return new BenchCommand(verb, -1, i, "", 0);
            }
        }

        string known = string.Join(", ", machine.Ports.Select(port => port.Name));
        return Wrong(name.Length == 0 ? $"name a port: {known}" : $"unknown port '{name}'; known: {known}", out error);
    }

    /// <summary>Finds the axis whose name and a point begin the text: names may hold points themselves, so the longest wins.</summary>
    private static int AxisBefore(string name, MachineDefinition machine, out string input)
    {
        int found = -1;
        int length = 0;
        for (int i = 0; i < machine.Axes.Count; i++)
        {
            string axis = machine.Axes[i].Name;
            if (axis.Length >= length && name.StartsWith(axis + ".", StringComparison.Ordinal))
            {
                (found, length) = (i, axis.Length);
            }
        }

        input = found < 0 ? "" : name[(length + 1)..];
        return found;
    }

    private static int FindAxis(string name, MachineDefinition machine)
    {
        for (int i = 0; i < machine.Axes.Count; i++)
        {
            if (machine.Axes[i].Name == name)
            {
                return i;
            }
        }

        return -1;
    }

    private static (string Before, string Last) SplitLast(string text)
    {
        int blank = text.LastIndexOfAny([' ', '\t']);
        return blank < 0 ? ("", text) : (text[..blank].Trim(), text[(blank + 1)..]);
    }

    private static BenchCommand? UnknownAxis(string name, MachineDefinition machine, out string error)
    {
        string known = string.Join(", ", machine.Axes.Select(axis => axis.Name));
        return Wrong(name.Length == 0 ? $"name an axis: {known}" : $"unknown axis '{name}'; known: {known}", out error);
    }

    private static BenchCommand? Wrong(string what, out string error)
    {
        error = what;
        return null;
    }
}
