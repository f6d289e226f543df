using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Drives;

/// <summary>Reads the bits by which a drive without CiA 402 words acknowledges its command bits. Left out: it does not.</summary>
internal sealed class AcknowledgesReader(BitReader bits, FileErrors errors)
{
    private const string Member = "acknowledges";

    public AcknowledgeBits Read(ObjectReader file, IReadOnlyList<FieldDraft> feedback, StateCoding coding, CommandBits? commands)
    {
        if (file.Object(Member, DriveShapes.Acknowledges) is not { } acknowledges)
        {
            return new AcknowledgeBits(null, null, null);
        }

        if (coding == StateCoding.Cia402)
        {
            file.Refuse(Member, $"a drive with CiA 402 words acknowledges in its statusword; take {Show.Quoted(Member)} out");
        }

        BitReference? Bit(string name, BitReference? command)
        {
            var node = acknowledges.Find(name);
            if (node is not null && commands is not null && command is not { Rising: true })
            {
                errors.Add(node, command is null
                    ? $"there is no commands.{name} that could be acknowledged"
                    : $"commands.{name} is a level, but what is acknowledged is an edge; write \"{command.Value.Field}.{command.Value.Bit} rising\" there");
            }

            return bits.Read(node, feedback, "feedback", mayRise: false);
        }

        return new AcknowledgeBits(
            Bit("go", commands?.Go), Bit("findReference", commands?.FindReference), Bit("clearFault", commands?.ClearFault));
    }
}
