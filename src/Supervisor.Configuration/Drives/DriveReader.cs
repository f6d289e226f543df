using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Drives;

/// <summary>
/// Reads a drive definition. The result is a draft: complete when no error was told, else it still has the names the file declares, so that a machine
/// file that refers to them is not blamed for the definition's errors.
/// </summary>
internal sealed class DriveReader(FileErrors errors)
{
    private static readonly Choices<bool> Protocols = new(("modbusRtu", true));

    private static readonly Choices<TimeoutFeed> Feeds = new(
        ("anyFrame", TimeoutFeed.AnyFrame), ("read", TimeoutFeed.Read), ("write", TimeoutFeed.Write));

    private static readonly Choices<TimeoutReaction> Reactions = new(
        ("quickStopThenOff", TimeoutReaction.QuickStopThenOff),
        ("quickStopThenHold", TimeoutReaction.QuickStopThenHold),
        ("torqueOff", TimeoutReaction.TorqueOff));

    private static readonly Choices<FirstStop> FirstStops = new(("blind", FirstStop.Blind), ("afterRead", FirstStop.AfterRead));

    private static readonly Choices<OutputsAtTimeout> OutputReactions = new(("hold", OutputsAtTimeout.Hold), ("off", OutputsAtTimeout.Off));

    public DriveDefinition? Read(Node root)
    {
        if (ObjectReader.Open(root, DriveShapes.File, errors) is not { } file)
        {
            return null;
        }

        file.Text("$schema");
        var name = file.Text("name", "name of this kind of drive") ?? "";
        file.Choice("protocol", Protocols, "how it is spoken to, \"modbusRtu\"");
        var wire = new WireReader(errors).Read(file);
        var fields = new FieldReader(wire, errors);
        var feedback = fields.Read(file.Items("feedback", "fields read in every cycle"), FieldUse.Feedback);
        var command = fields.Read(file.Items("command", "fields written when they change"), FieldUse.Command);
        var parameters = fields.Read(file.Items("parameters"), FieldUse.Parameter);
        var save = new SaveParametersReader(wire).Read(file);
        FieldChecks.NoOverlap(feedback, command, save is null ? parameters : [.. parameters, save.Value.Draft], errors);

        var bits = new BitReader(errors);
        var (coding, states, commands) = new StatesReader(bits, errors).Read(file, feedback, command);
        ControlFieldChecks.Check(wire, command, commands, errors);
        RequiredFields.Check(file, coding, feedback, command, parameters, errors);
        var inputs = bits.ReadNamed(file.Entries("inputs"), feedback, "feedback");
        var outputs = bits.ReadNamed(file.Entries("outputs"), command, "command");
        var holdBrake = bits.Read(file.Find("holdBrake"), command, "command", mayRise: false);
        OutputChecks.Check(file, outputs, commands, holdBrake, errors);

        var refresh = file.Number("refreshMs", new NumberRange(0, 60_000, Milliseconds.Unit), fallback: 0);
        var timeout = ReadTimeout(file, refresh);
        return new DriveDefinition(
            name, wire, coding, states, commands, Ordered(feedback), Ordered(command), Ordered(parameters), inputs, outputs, timeout,
            Milliseconds.ToTime(refresh))
        {
            Faults = new FaultListReader(errors).Read(
                file, feedback, command, [commands?.Power, commands?.Go, commands?.Stop, commands?.FindReference, commands?.ClearFault, holdBrake, .. outputs.Values.Select(bit => (BitReference?)bit)]),
            SaveParameters = save?.Definition,
            BatteryAlarm = new BatteryAlarmReader(bits, errors).Read(file, feedback),
            HoldBrake = holdBrake,
            Unlock = new UnlockReader(wire, bits, errors).Read(file, feedback, command),
            Acknowledges = new AcknowledgesReader(bits, errors).Read(file, feedback, coding, commands),
            RampTimes = new RampTimesReader(errors).Read(file, command),
            FirstStop = ReadFirstStop(file, coding),
            ShortestStart = ReadShortestStart(file, coding),
            Identification = new IdentificationReader(errors).Read(file),
        };
    }

    private static FirstStop ReadFirstStop(ObjectReader file, StateCoding coding)
    {
        var first = file.Choice("firstStop", FirstStops, FirstStop.Blind) ?? FirstStop.Blind;
        if (first == FirstStop.AfterRead && coding == StateCoding.Cia402)
        {
            file.Refuse("firstStop", "a drive with CiA 402 words takes a quick stop in every state, so that it waits for nothing; take \"afterRead\" out");
        }

        return first;
    }

    private static TimeSpan? ReadShortestStart(ObjectReader file, StateCoding coding)
    {
        if (file.Find("shortestStartMs") is null)
        {
            return null;
        }

        if (coding == StateCoding.Cia402)
        {
            file.Refuse("shortestStartMs", "a drive with CiA 402 words gets no torque by a stop after its start; take it out");
        }

        return Milliseconds.ToTime(file.Number("shortestStartMs", NumberRange.Above0(Milliseconds.Unit, 60_000), double.NaN));
    }

    private static CommunicationTimeoutDefinition? ReadTimeout(ObjectReader file, double refreshMs)
    {
        if (file.Object("communicationTimeout", DriveShapes.CommunicationTimeout) is not { } timeout)
        {
            return null;
        }

        var fedBy = timeout.Choice("fedBy", Feeds, "which frames keep the drive quiet");
        var reaction = timeout.Choice("reaction", Reactions, "what the drive does when the time ran out");
        if (fedBy == TimeoutFeed.Write && refreshMs == 0)
        {
            timeout.Refuse("fedBy", "only writes feed the time-out, but nothing is written while nothing changes; give refreshMs above 0");
        }

        return new CommunicationTimeoutDefinition(fedBy ?? default, reaction ?? default)
        {
            Outputs = timeout.Choice("outputs", OutputReactions, OutputsAtTimeout.Unknown) ?? OutputsAtTimeout.Unknown,
        };
    }

    private static RegisterField[] Ordered(IReadOnlyList<FieldDraft> drafts) =>
        [.. drafts.Select(draft => draft.Field).OrderBy(field => field.Register)];
}
