namespace Supervisor.Configuration.Drives;

/// <summary>Registers that travel in one frame.</summary>
/// <param name="Start">Address on the wire of the first one.</param>
/// <param name="Count">Number of registers.</param>
/// <param name="Offset">Where they stand among all registers of their list.</param>
public readonly record struct RegisterBlock(ushort Start, ushort Count, int Offset)
{
    /// <summary>The function that reads them; 0 for what is written.</summary>
    public byte ReadFunction { get; init; }

    /// <summary>Fields that are read every cycle, in the order of their addresses.</summary>
    public static RegisterField[] FeedbackOrder(DriveDefinition drive)
    {
        ArgumentNullException.ThrowIfNull(drive);
        return [.. drive.Feedback.OrderBy(field => field.ReadFunction(drive.Wire)).ThenBy(field => field.Address(drive.Wire))];
    }

    /// <summary>Fields that are written when they changed, in the order of their addresses.</summary>
    public static RegisterField[] CommandOrder(DriveDefinition drive)
    {
        ArgumentNullException.ThrowIfNull(drive);
        return [.. drive.Command.OrderBy(field => field.Address(drive.Wire))];
    }

    /// <summary>The frames that read the feedback.</summary>
    /// <param name="drive">The drive.</param>
    /// <param name="fields">Its feedback in order.</param>
    /// <param name="offsets">Where each field begins among all registers.</param>
    public static RegisterBlock[] OfFeedback(DriveDefinition drive, RegisterField[] fields, int[] offsets)
    {
        ArgumentNullException.ThrowIfNull(drive);
        return Cut(fields, drive.Wire, drive.Wire.MaximumRead, isRead: true, offsets);
    }

    /// <summary>The frames that write the command.</summary>
    /// <param name="drive">The drive.</param>
    /// <param name="fields">Its commands in order.</param>
    /// <param name="offsets">Where each field begins among all registers.</param>
    public static RegisterBlock[] OfCommand(DriveDefinition drive, RegisterField[] fields, int[] offsets)
    {
        ArgumentNullException.ThrowIfNull(drive);
        var maximum = drive.Wire.WriteFunction == 6 ? 1 : drive.Wire.MaximumWrite;
        var blocks = Cut(fields, drive.Wire, Math.Max(2, maximum), isRead: false, offsets);
        return maximum > 1 ? blocks
            : [.. blocks.SelectMany(block => Enumerable.Range(0, block.Count).Select(i => new RegisterBlock((ushort)(block.Start + i), 1, block.Offset + i)))];
    }

    /// <summary>Cuts fields into runs without gaps: a register nobody declared is never touched, and what several fields share is there once.</summary>
    /// <param name="fields">Fields in the order of their addresses, those of one function together.</param>
    /// <param name="wire">How they travel.</param>
    /// <param name="maximum">Registers of one frame.</param>
    /// <param name="isRead">True for what is read.</param>
    /// <param name="offsets">Where each field begins among all registers.</param>
    public static RegisterBlock[] Cut(IReadOnlyList<RegisterField> fields, WireDefinition wire, int maximum, bool isRead, int[] offsets)
    {
        var blocks = new List<RegisterBlock>();
        var offset = 0;
        for (var i = 0; i < fields.Count; i++)
        {
            var field = fields[i];
            var start = field.Address(wire);
            var function = isRead ? field.ReadFunction(wire) : (byte)0;
            var last = blocks.Count - 1;
            var end = last < 0 || blocks[last].ReadFunction != function ? int.MinValue : blocks[last].Start + blocks[last].Count;
            if (start + field.Width <= end)
            {
                offsets[i] = offset - (end - start);
                continue;
            }

            if (end == start && blocks[last].Count + field.Width <= maximum)
            {
                blocks[last] = blocks[last] with { Count = (ushort)(blocks[last].Count + field.Width) };
            }
            else
            {
                blocks.Add(new RegisterBlock((ushort)start, (ushort)field.Width, offset) { ReadFunction = function });
            }

            offsets[i] = offset;
            offset += field.Width;
        }

        return [.. blocks];
    }
}
