using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;

namespace Supervisor.Configuration.Budget;

/// <summary>What one unit of a line is asked, in characters. Lengths of frames: MODBUS Application Protocol V1.1b3, 6, and two more for the CRC, one for the address.</summary>
/// <param name="Usual">A cycle's exchange while nothing is commanded: the feedback.</param>
/// <param name="UsualFrames">Requests in it.</param>
/// <param name="Full">A cycle's exchange when every command register is written too.</param>
/// <param name="FullFrames">Requests in it.</param>
/// <param name="LongestRequest">The longest request among them.</param>
/// <param name="LongestReply">The longest reply among them.</param>
/// <param name="StopRequest">The stop frame; 0 for what has none.</param>
internal readonly record struct UnitFrames(int Usual, int UsualFrames, int Full, int FullFrames, int LongestRequest, int LongestReply, int StopRequest)
{
    /// <summary>The ramp that a drive brakes on, written alone ahead of a stop; 0 where no frame does that.</summary>
    public int RampRequest { get; init; }

    /// <summary>Reply to the stop frame, as to every write.</summary>
    public const int WriteReply = 8;

    private const int ReadRequest = 8;
    private const int SingleWrite = 8;

    // A mask write, and its reply, which echoes it.
    private const int MaskWrite = 10;

    public static UnitFrames Of(DriveDefinition drive)
    {
        var feedback = RegisterBlock.FeedbackOrder(drive);
        var command = RegisterBlock.CommandOrder(drive);
        var reads = RegisterBlock.OfFeedback(drive, feedback, new int[feedback.Length]);
        var writes = RegisterBlock.OfCommand(drive, command, new int[command.Length]);
        var read = reads.Sum(block => ReadRequest + ReadReply(block.Count));
        var isSingle = drive.Wire.WriteFunction == 6;
        var stop = isSingle ? SingleWrite : MultipleWrite(1);
        if (drive.Wire.HasReadWrite && reads.Length == 1 && writes.Length == 1 && feedback.All(field => field.Kind != RegisterKind.Input))
        {
            var request = 13 + (2 * writes[0].Count);
            return new UnitFrames(read, 1, request + ReadReply(reads[0].Count), 1, request, Math.Max(ReadReply(reads[0].Count), WriteReply), stop) { RampRequest = RampOf(drive) };
        }

        var longest = writes.Select(block => isSingle ? SingleWrite : MultipleWrite(block.Count)).DefaultIfEmpty(0).Max();
        var written = writes.Sum(block => isSingle ? SingleWrite + WriteReply : MultipleWrite(block.Count) + WriteReply);
        var reply = reads.Select(block => ReadReply(block.Count)).Append(WriteReply).Max();
        return new UnitFrames(read, reads.Length, read + written, reads.Length + writes.Length, Math.Max(longest, ReadRequest), reply, stop) { RampRequest = RampOf(drive) };
    }

    public static UnitFrames Of(ModuleDefinition module)
    {
        var (characters, frames, longest, reply) = (0, 0, ReadRequest, 0);
        if (module.Inputs is { } inputs)
        {
            reply = BitsReply(inputs.Function, inputs.Bits, inputs.Packing);
            characters += ReadRequest + reply;
            frames++;
        }

        if (module.Outputs is { } outputs)
        {
            var write = outputs.Function switch
            {
                5 or 6 => SingleWrite,
                22 => MaskWrite,
                15 => 9 + ((outputs.Bits + 7) / 8),
                _ => MultipleWrite(outputs.Packing.Registers(outputs.Bits)),
            };
            var written = outputs.Function == 22 ? MaskWrite : WriteReply;
            characters += write + written;
            reply = Math.Max(reply, written);
            longest = Math.Max(longest, write);
            frames++;
            if (outputs.ReadBack is { } back)
            {
                var told = BitsReply(back.Function, outputs.Bits, outputs.Packing);
                characters += ReadRequest + told;
                reply = Math.Max(reply, told);
                frames++;
            }
        }

        return new UnitFrames(characters, frames, characters, frames, longest, reply, 0);
    }

    /// <summary>Characters of the one request by which a module is read at its turn: its inputs; where it has none its outputs, or one register.</summary>
    public static int PollOf(ModuleDefinition module) => ReadRequest + module switch
    {
        { Inputs: { } inputs } => BitsReply(inputs.Function, inputs.Bits, inputs.Packing),
        { Outputs: { ReadBack: { } back } outputs } => BitsReply(back.Function, outputs.Bits, outputs.Packing),
        _ => ReadReply(1),
    };

    /// <summary>Two words that are written one by one are no frame.</summary>
    private static int RampOf(DriveDefinition drive)
    {
        var ramp = drive.Command.FirstOrDefault(field => field.Name == FieldNames.ProfileDeceleration)
            ?? (drive.RampTimes is null ? null : drive.Command.FirstOrDefault(field => field.Name == FieldNames.DecelerationTime));
        var isWide = ramp?.Type is RegisterType.U32 or RegisterType.S32;
        return ramp is null ? 0
            : drive.Wire.WriteFunction != 6 ? MultipleWrite(isWide ? 2 : 1)
            : isWide ? 0 : SingleWrite;
    }

    private static int ReadReply(int registers) => 5 + (2 * registers);

    private static int MultipleWrite(int registers) => 9 + (2 * registers);

    private static int BitsReply(byte function, int bits, BitPacking packing) => function is 1 or 2 ? 5 + ((bits + 7) / 8) : ReadReply(packing.Registers(bits));
}
