using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>A line is an input or an output, not both: the kernel gives it once.</summary>
internal sealed class GpioUse(FileErrors errors)
{
    public void Check(ObjectReader reader, MachineDefinition machine)
    {
        var inputs = machine.AllInputs().Where(input => input.Gpio is not null).Select(input => input.Text).ToHashSet(StringComparer.Ordinal);
        var signals = reader.Find("signals");
        var owners = Items(reader.Find("outputs")).Concat(Items(signals?.Find("lights")))
            .Append(reader.Find("powerEnable")).Append(reader.Find("alive")).Append(signals?.Find("horn"));
        foreach (var node in owners.Select(owner => owner?.Find("output")))
        {
            if (node is { Kind: NodeKind.Text } && inputs.Contains(node.Text))
            {
                errors.Add(node, $"{Show.Quoted(node.Text)} is also an input of this machine; a line is one of the two");
            }
        }
    }

    private static List<Node> Items(Node? list) => list is { Kind: NodeKind.Array } ? list.Items : [];
}
