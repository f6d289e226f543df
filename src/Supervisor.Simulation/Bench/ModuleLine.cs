using System.Globalization;
using Supervisor.Configuration.Machines;

namespace Supervisor.Simulation.Bench;

/// <summary>Lines to the bench about a module: <c>module:NAME</c>, or <c>module:NAME/BIT</c> with the bit's number or name.</summary>
internal static class ModuleLine
{
    private const string Prefix = "module:";

    public static bool Is(string rest) => rest.StartsWith(Prefix, StringComparison.Ordinal);

    public static BenchCommand? Of(BenchVerb verb, string rest, MachineDefinition machine, out string error)
    {
        int module = IndexOf(rest[Prefix.Length..], machine, out error);
        return module < 0 ? null : new BenchCommand(verb, -1, -1, "", 0, module);
    }

    public static BenchCommand? ParseInput(string rest, MachineDefinition machine, out string error)
    {
        int blank = rest.LastIndexOfAny([' ', '\t']);
        int slash = blank < 0 ? -1 : rest.IndexOf('/', StringComparison.Ordinal);
        string level = blank < 0 ? "" : rest[(blank + 1)..];
        if (slash < 0 || slash > blank || level is not ("0" or "1"))
        {
            error = "write: input module:NAME/BIT 0|1 (1 closed, 0 open)";
            return null;
        }

        int module = IndexOf(rest[Prefix.Length..slash], machine, out error);
        if (module < 0)
        {
            return null;
        }

        string bit = rest[(slash + 1)..blank].Trim();
        var inputs = machine.Modules[module].Inputs;
        if (inputs is null
            || (!inputs.Names.TryGetValue(bit, out int number) && !int.TryParse(bit, NumberStyles.None, CultureInfo.InvariantCulture, out number))
            || number >= inputs.Bits)
        {
            error = $"module '{machine.Modules[module].Name}' has no input '{bit}'; {(inputs is null ? "it has none" : $"it has 0 to {inputs.Bits - 1}{string.Concat(inputs.Names.Keys.Select(name => ", " + name))}")}";
            return null;
        }

        return new BenchCommand(BenchVerb.Input, -1, -1, "", (ushort)(level == "1" ? 1 : 0), module, number);
    }

    private static int IndexOf(string name, MachineDefinition machine, out string error)
    {
        for (int i = 0; i < machine.Modules.Count; i++)
        {
            if (machine.Modules[i].Name == name)
            {
                error = "";
                return i;
            }
        }

        string known = machine.Modules.Count == 0 ? "the machine has none" : "known: " + string.Join(", ", machine.Modules.Select(module => module.Name));
        error = $"unknown module '{name}'; {known}";
        return -1;
    }
}
