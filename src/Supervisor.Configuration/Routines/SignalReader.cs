using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Routines;

/// <summary>Reads steps that wait for an input of a drive or set an output.</summary>
internal sealed class SignalReader(MachineDefinition machine, FileErrors errors)
{
    public WaitInputStep ReadWaitInput(ObjectReader step, string name)
    {
        if (step.Object("waitInput", RoutineShapes.WaitInput) is not { } wait)
        {
            return new WaitInputStep(name, -1, "", false, TimeSpan.Zero);
        }

        var (axis, input) = ReadPlace(wait.Require("input", "AXIS.NAME of the input"), "input");
        wait.Require("closed", "true to wait until it is closed, false until it is open");
        var closed = wait.Flag("closed", fallback: false);
        var timeoutMs = wait.Number("timeoutMs", NumberRange.Above0(Milliseconds.Unit, 3_600_000), "time after which the routine fails");
        return new WaitInputStep(name, axis, input, closed, Milliseconds.ToTime(timeoutMs));
    }

    public SetOutputStep ReadSetOutput(ObjectReader step, string name)
    {
        if (step.Object("setOutput", RoutineShapes.SetOutput) is not { } set)
        {
            return new SetOutputStep(name, -1, "", false);
        }

        var (axis, output) = ReadOutput(set.Require("output", "name of the output, or AXIS.NAME"));
        set.Require("on", "true or false");
        return new SetOutputStep(name, axis, output, set.Flag("on", fallback: false));
    }

    /// <summary>A named output, by its name or its place; else an output of a drive.</summary>
    private (int Axis, string Name) ReadOutput(Node? node)
    {
        if (node is { Kind: NodeKind.Text, Text: var text } && text.Length > 0)
        {
            if (machine.OutputIndex(text) is >= 0 and var named)
            {
                return (-1, machine.Outputs[named].Name);
            }

            if (text == machine.PowerEnable?.Output.Text || text == machine.Alive?.Output.Text)
            {
                errors.Add(node, $"{Show.Quoted(text)} is the machine's {(text == machine.Alive?.Output.Text ? "alive" : "power-enable")} output, which no routine sets");
                return (-1, "");
            }

            if (machine.SignalAt(text) is { } signal)
            {
                errors.Add(node, $"{Show.Quoted(text)} is the machine's {signal}, which no routine sets");
                return (-1, "");
            }

            if (!text.Contains('.', StringComparison.Ordinal))
            {
                errors.Add(node, $"no output {Show.Quoted(text)}, and none of a drive, which is named AXIS.NAME{Nearest.Hint(text, [.. machine.Outputs.Select(output => output.Name)])}");
                return (-1, "");
            }
        }

        return ReadPlace(node, "output");
    }

    private (int Axis, string Name) ReadPlace(Node? node, string kind)
    {
        if (node is null || Values.Text(node, errors) is not { } text)
        {
            return (-1, "");
        }

        var dot = text.IndexOf('.', StringComparison.Ordinal);
        if (dot <= 0 || dot == text.Length - 1)
        {
            errors.Add(node, $"{Show.Quoted(text)} is no {kind} of a drive; AXIS.NAME is expected");
            return (-1, "");
        }

        var (axis, name) = (text[..dot], text[(dot + 1)..]);
        var index = machine.AxisIndex(axis);
        if (index < 0)
        {
            errors.Add(node, $"{Show.Quoted(text)}: {machine.DescribeUnknownAxis(axis)}");
            return (-1, name);
        }

        CheckName(node, text, machine.Axes[index], kind, name);
        return (index, name);
    }

    private void CheckName(Node node, string text, AxisDefinition axis, string kind, string name)
    {
        var known = kind == "input" ? axis.Drive.Inputs : axis.Drive.Outputs;
        if (!known.ContainsKey(name))
        {
            var hint = known.Count == 0 ? "; it declares none" : Nearest.Hint(name, [.. known.Keys]);
            errors.Add(node, $"{Show.Quoted(text)}: drive {Show.Quoted(axis.Drive.Name)} has no {kind} {Show.Quoted(name)}{hint}");
        }
    }
}
