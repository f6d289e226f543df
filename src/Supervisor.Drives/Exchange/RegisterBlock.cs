using Supervisor.Configuration.Drives;

namespace Supervisor.Drives.Exchange;

/// <summary>Registers that travel in one frame.</summary>
/// <param name="Start">Address on the wire of the first one.</param>
/// <param name="Count">Number of registers.</param>
/// <param name="Offset">Where they stand among all registers of their list.</param>
public readonly record struct RegisterBlock(ushort Start, ushort Count, int Offset)
{
    /// <summary>Cuts fields (in register order) into runs without gaps: a register nobody declared is never touched.</summary>
    /// <param name="fields">Fields in register order, not overlapping.</param>
    /// <param name="firstRegister">The manual's number for wire address 0.</param>
    /// <param name="maximum">Registers of one frame.</param>
    public static RegisterBlock[] Cut(IReadOnlyList<RegisterField> fields, int firstRegister, int maximum)
    {
        var blocks = new List<RegisterBlock>();
        var offset = 0;
        foreach (var field in fields)
        {
            var start = field.Register - firstRegister;
            var last = blocks.Count - 1;
            if (last >= 0 && blocks[last].Start + blocks[last].Count == start && blocks[last].Count + field.Width <= maximum)
            {
                blocks[last] = blocks[last] with { Count = (ushort)(blocks[last].Count + field.Width) };
            }
            else
            {
                blocks.Add(new RegisterBlock((ushort)start, (ushort)field.Width, offset));
            }

            offset += field.Width;
        }

        return [.. blocks];
    }
}
