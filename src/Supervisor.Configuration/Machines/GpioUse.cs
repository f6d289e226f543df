using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>A line is an input or an output, not both: the kernel gives it once.</summary>
internal sealed class GpioUse(FileErrors errors)
{
    public void Check(ObjectReader reader, MachineDefinition machine)
    {
        var inputs = machine.AllInputs().Where(input => input.Gpio is not null).Select(input => input.Text).ToHashSet(StringComparer.Ordinal);
        var nodes = reader.Find("outputs") is { Kind: NodeKind.Array } list ? list.Items.Select(item => item.Find("output")) : [];
        foreach (var node in nodes.Append(reader.Find("powerEnable")?.Find("output")).Append(reader.Find("alive")?.Find("output")))
        {
            if (node is { Kind: NodeKind.Text } && inputs.Contains(node.Text))
            {
                errors.Add(node, $"{Show.Quoted(node.Text)} is also an input of this machine; a line is one of the two");
            }
        }
    }
}
