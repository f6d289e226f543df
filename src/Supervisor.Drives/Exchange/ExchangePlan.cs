using Supervisor.Configuration.Drives;

namespace Supervisor.Drives.Exchange;

/// <summary>How one kind of drive is spoken to in a cycle: blocks of registers and where each field stands in them. Made once, shared by all its axes.</summary>
public sealed class ExchangePlan
{
    private readonly RegisterField[] _feedback;
    private readonly RegisterField[] _command;
    private readonly int[] _feedbackOffsets;
    private readonly int[] _commandOffsets;
    private readonly int[] _pairs;

    public ExchangePlan(DriveDefinition drive)
    {
        ArgumentNullException.ThrowIfNull(drive);
        Drive = drive;
        var wire = drive.Wire;
        _feedback = RegisterBlock.FeedbackOrder(drive);
        _command = RegisterBlock.CommandOrder(drive);
        _feedbackOffsets = new int[_feedback.Length];
        _commandOffsets = new int[_command.Length];
        FeedbackBlocks = RegisterBlock.OfFeedback(drive, _feedback, _feedbackOffsets);
        CommandBlocks = RegisterBlock.OfCommand(drive, _command, _commandOffsets);
        _pairs = PairUp();
        FeedbackRegisters = FeedbackBlocks.Sum(block => block.Count);
        CommandRegisters = CommandBlocks.Sum(block => block.Count);
        WritesInOneReadWrite = wire.HasReadWrite && FeedbackBlocks.Length == 1 && CommandBlocks.Length == 1
            && Array.TrueForAll(_feedback, field => field.Kind != RegisterKind.Input);
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
    public FieldSlot Feedback(string name) => Slot(_feedback, _feedbackOffsets, name);

    /// <summary>Slot of a command field; undeclared when there is none of that name.</summary>
    public FieldSlot Command(string name) => Slot(_command, _commandOffsets, name);

    /// <summary>The command block with the other word of the same value; -1 when there is none. Both are written, in the order the drive asks for.</summary>
    public int PairOf(int commandBlock) => _pairs[commandBlock];

    /// <summary>A bit of the feedback.</summary>
    public BitSlot FeedbackBit(BitReference? bit) => bit is { } b ? new BitSlot(Feedback(b.Field), b) : default;

    /// <summary>A bit of the command.</summary>
    public BitSlot CommandBit(BitReference? bit) => bit is { } b ? new BitSlot(Command(b.Field), b) : default;

    /// <summary>Address of a register on the wire.</summary>
    public ushort Address(RegisterField field)
    {
        ArgumentNullException.ThrowIfNull(field);
        return (ushort)field.Address(Drive.Wire);
    }

    /// <summary>Slot of a parameter in registers that begin with it.</summary>
    public FieldSlot ParameterSlot(RegisterField field)
    {
        ArgumentNullException.ThrowIfNull(field);
        return new FieldSlot(0, field, Drive.Wire);
    }

    private FieldSlot Slot(RegisterField[] fields, int[] offsets, string name)
    {
        var at = Array.FindIndex(fields, field => field.Name == name);
        return at < 0 ? default : new FieldSlot(offsets[at], fields[at], Drive.Wire);
    }

    /// <summary>Both words of a value that goes out in two frames, put into the order in which the drive takes them.</summary>
    private int[] PairUp()
    {
        var pairs = new int[CommandBlocks.Length];
        Array.Fill(pairs, -1);
        for (var i = 0; i < _command.Length; i++)
        {
            if (_command[i].Width == 1 || Drive.Wire.Split is not { } split)
            {
                continue;
            }

            var first = Array.FindIndex(CommandBlocks, block => block.Offset == _commandOffsets[i]);
            if (pairs[first] >= 0)
            {
                continue;
            }

            (pairs[first], pairs[first + 1]) = (first + 1, first);
            var highIsFirst = Drive.Wire.WordOrder == WordOrder.HighFirst;
            if (highIsFirst != (split == WordSplit.HighThenLow))
            {
                (CommandBlocks[first], CommandBlocks[first + 1]) = (CommandBlocks[first + 1], CommandBlocks[first]);
            }
        }

        return pairs;
    }
}
