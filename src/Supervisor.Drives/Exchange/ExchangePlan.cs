using Supervisor.Configuration.Drives;

namespace Supervisor.Drives.Exchange;

/// <summary>How one kind of drive is spoken to in a cycle: blocks of registers and where each field stands in them. Made once, shared by all its axes.</summary>
public sealed class ExchangePlan
{
    private readonly IReadOnlyList<RegisterField> _feedback;
    private readonly IReadOnlyList<RegisterField> _command;

    public ExchangePlan(DriveDefinition drive)
    {
        ArgumentNullException.ThrowIfNull(drive);
        Drive = drive;
        _feedback = [.. drive.Feedback.OrderBy(field => field.Register)];
        _command = [.. drive.Command.OrderBy(field => field.Register)];
        FeedbackBlocks = RegisterBlock.Cut(_feedback, drive.Wire.FirstRegister, drive.Wire.MaximumRead);
        var maximumWrite = drive.Wire.WriteFunction == 6 ? 1 : drive.Wire.MaximumWrite;
        CommandBlocks = RegisterBlock.Cut(_command, drive.Wire.FirstRegister, Math.Max(2, maximumWrite));
        if (maximumWrite == 1)
        {
            CommandBlocks = SplitSingle(CommandBlocks);
        }

        FeedbackRegisters = _feedback.Sum(field => field.Width);
        CommandRegisters = _command.Sum(field => field.Width);
        WritesInOneReadWrite = drive.Wire.HasReadWrite && FeedbackBlocks.Length == 1 && CommandBlocks.Length == 1;
    }

    /// <summary>The definition.</summary>
    public DriveDefinition Drive { get; }

    /// <summary>Blocks read every cycle.</summary>
    public RegisterBlock[] FeedbackBlocks { get; }

    /// <summary>Blocks written when they changed.</summary>
    public RegisterBlock[] CommandBlocks { get; }

    /// <summary>Registers of all feedback blocks.</summary>
    public int FeedbackRegisters { get; }

    /// <summary>Registers of all command blocks.</summary>
    public int CommandRegisters { get; }

    /// <summary>True when one function 23 exchanges everything.</summary>
    public bool WritesInOneReadWrite { get; }

    /// <summary>Slot of a feedback field; undeclared when there is none of that name.</summary>
    public FieldSlot Feedback(string name) => Slot(_feedback, name);

    /// <summary>Slot of a command field; undeclared when there is none of that name.</summary>
    public FieldSlot Command(string name) => Slot(_command, name);

    /// <summary>A bit of the feedback.</summary>
    public BitSlot FeedbackBit(BitReference? bit) => bit is { } b ? new BitSlot(Feedback(b.Field), b) : default;

    /// <summary>A bit of the command.</summary>
    public BitSlot CommandBit(BitReference? bit) => bit is { } b ? new BitSlot(Command(b.Field), b) : default;

    /// <summary>Address of a register on the wire.</summary>
    public ushort Address(RegisterField field)
    {
        ArgumentNullException.ThrowIfNull(field);
        return (ushort)(field.Register - Drive.Wire.FirstRegister);
    }

    /// <summary>Slot of a parameter in registers that begin with it.</summary>
    public FieldSlot ParameterSlot(RegisterField field)
    {
        ArgumentNullException.ThrowIfNull(field);
        return new FieldSlot(0, field, Drive.Wire.WordOrder);
    }

    private FieldSlot Slot(IReadOnlyList<RegisterField> fields, string name)
    {
        var offset = 0;
        foreach (var field in fields)
        {
            if (field.Name == name)
            {
                return new FieldSlot(offset, field, Drive.Wire.WordOrder);
            }

            offset += field.Width;
        }

        return default;
    }

    private static RegisterBlock[] SplitSingle(RegisterBlock[] blocks) =>
        [.. blocks.SelectMany(block => Enumerable.Range(0, block.Count)
            .Select(i => new RegisterBlock((ushort)(block.Start + i), 1, block.Offset + i)))];
}
