using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Drives;

/// <summary>Reads how a drive tells its state and is commanded: CiA 402 words, or bits one by one.</summary>
internal sealed class StatesReader(BitReader bits, FileErrors errors)
{
    private const string Cia402 = "cia402";

    public (StateCoding Coding, StateBits? States, CommandBits? Commands) Read(
        ObjectReader file, IReadOnlyList<FieldDraft> feedback, IReadOnlyList<FieldDraft> command)
    {
        var node = file.Require("states", "\"cia402\", or an object that names the state bits");
        if (node is null || node.Kind == NodeKind.Text)
        {
            CheckWord(file, node);
            return (StateCoding.Cia402, null, null);
        }

        if (node.Kind != NodeKind.Object)
        {
            errors.WrongKind(node, "\"cia402\" or an object");
            return (StateCoding.Cia402, null, null);
        }

        return (StateCoding.Bits, ReadStates(node, feedback), ReadCommands(file, command));
    }

    private void CheckWord(ObjectReader file, Node? node)
    {
        if (node is not null && node.Text != Cia402)
        {
            errors.Add(node, $"{Show.Quoted(node.Text)} is not \"cia402\"; a drive without CiA 402 words names its bits in an object");
        }
        else if (node is not null && file.Find("commands") is { } commands)
        {
            errors.Add(commands, "a drive with CiA 402 words is commanded by its controlword; take \"commands\" out");
        }
    }

    private StateBits? ReadStates(Node node, IReadOnlyList<FieldDraft> feedback)
    {
        if (ObjectReader.Open(node, DriveShapes.States, errors) is not { } states)
        {
            return null;
        }

        BitReference? Bit(Node? at) => bits.Read(at, feedback, "feedback", mayRise: false);
        return new StateBits(
            Bit(states.Require("powered", "the bit that proves torque; without it no axis can become ready")),
            Bit(states.Find("inPosition")),
            Bit(states.Find("referenced")),
            Bit(states.Require("fault", "the bit that tells a fault; without it none would be seen")),
            Bit(states.Find("moving")));
    }

    private CommandBits? ReadCommands(ObjectReader file, IReadOnlyList<FieldDraft> command)
    {
        if (file.Object("commands", DriveShapes.Commands, "the bits that command a drive without CiA 402 words") is not { } commands)
        {
            return null;
        }

        BitReference? Bit(Node? at, bool mayRise = true) => bits.Read(at, command, "command", mayRise);
        var result = new CommandBits(
            Bit(commands.Require("power", "the bit that switches torque on"), mayRise: false),
            Bit(commands.Require("go", "the bit that starts a move")),
            Bit(commands.Require("stop", "the bit that stops; without it no axis can be stopped in order")),
            Bit(commands.Find("findReference")),
            Bit(commands.Find("clearFault")));
        CheckDistinct(commands);
        return result;
    }

    private void CheckDistinct(ObjectReader commands)
    {
        var once = new UsedOnce<string>(errors);
        foreach (var member in commands.Node.Members.Where(member => member.Value.Kind == NodeKind.Text && DriveShapes.Commands.Members.Contains(member.Name)))
        {
            var bit = member.Value.Text.Split(' ')[0];
            once.Note(bit, member.Value, line => $"bit {Show.Quoted(bit)} already commands something in line {line}");
        }
    }
}
