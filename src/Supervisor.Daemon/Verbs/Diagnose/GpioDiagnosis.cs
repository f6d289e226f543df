using Supervisor.Bus.Gpio;
using Supervisor.Configuration.Machines;

namespace Supervisor.Daemon.Verbs.Diagnose;

/// <summary>Looks at one GPIO line: its chip by label, its name, its direction, who holds it, its level. An output is not touched.</summary>
internal static class GpioDiagnosis
{
    public static (List<Finding> Findings, bool? Level) Look(IGpioKernel? kernel, GpioReference place, bool isOutput)
    {
        if (kernel is null)
        {
            return ([Finding.Wrong("this system has no GPIO of this kind", "run it on the Linux board that the lines belong to")], null);
        }

        using var chip = GpioChip.Open(kernel, place.Chip, out var problem);
        if (chip is null)
        {
            return ([Finding.Wrong(problem, "give the label as the board has it: `gpioinfo` of Debian's gpiod lists chips and lines")], null);
        }

        if (chip.Find(place.Line, out problem) is not { } offset || chip.Line(offset) is not { } line)
        {
            return ([Finding.Wrong(problem.Length > 0 ? problem : $"chip \"{chip.Label}\" does not tell of its line {place.Line}", "give the line's offset, or its name as the board has it")], null);
        }

        var name = line.Name.Length > 0 ? $" \"{line.Name}\"" : "";
        var findings = new List<Finding> { Finding.Good($"line {offset}{name} of {chip.Device}, an {(line.IsOutput ? "output" : "input")} now") };
        if (line.IsUsed)
        {
            findings.Add(Finding.Wrong(
                $"in use by {(line.Consumer.Length > 0 ? $"\"{line.Consumer}\"" : "the kernel")}",
                "end the program, or take the device-tree entry out, that holds it; or choose another line"));
            return (findings, null);
        }

        if (line.IsOutput)
        {
            findings.Add(isOutput
                ? Finding.Note("its level is not read: an output is left alone")
                : Finding.Wrong("an input of the machine, but the line is set as an output", "find out who set it so before anything is wired to it: two outputs against each other destroy one"));
            return (findings, null);
        }

        var level = GpioLine.Peek(kernel, chip, offset, out problem);
        findings.Add(level is { } high
            ? isOutput ? Finding.Good($"reads {(high ? 1 : 0)}; it becomes an output when the daemon starts") : Finding.Good(high ? "reads 1: closed" : "reads 0: open")
            : Finding.Wrong($"can't be read: {problem}", "check the chip's driver and its connection"));
        return (findings, level);
    }
}
