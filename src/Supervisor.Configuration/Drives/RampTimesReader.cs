using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Drives;

/// <summary>Reads what speed a drive's ramp times lead to, and refuses ramps that are told twice or of which half is missing.</summary>
internal sealed class RampTimesReader(FileErrors errors)
{
    private const string Member = "rampTimes";
    private const string Commanded = "commandedVelocity";

    private static readonly (string Time, string Rate)[] Pairs =
    [
        (FieldNames.AccelerationTime, FieldNames.ProfileAcceleration), (FieldNames.DecelerationTime, FieldNames.ProfileDeceleration),
    ];

    public RampTimesDefinition? Read(ObjectReader file, IReadOnlyList<FieldDraft> command)
    {
        foreach (var (time, rate) in Pairs)
        {
            if (FieldDraft.Find(command, time) is not null && FieldDraft.Find(command, rate) is not null)
            {
                file.Refuse("command", $"declares both {Show.Quoted(time)} and {Show.Quoted(rate)}: one ramp can't be told twice");
            }
        }

        var hasTimes = Pairs.Any(pair => FieldDraft.Find(command, pair.Time) is not null);
        if (file.Find(Member) is not { } node)
        {
            if (hasTimes)
            {
                file.Refuse("command", $"declares a ramp by its time, but not the speed it leads to; give {Member}.toSpeed");
            }

            return null;
        }

        if (!hasTimes)
        {
            errors.Add(node, $"no command field {Show.Quoted(FieldNames.AccelerationTime)} or {Show.Quoted(FieldNames.DecelerationTime)} is declared; take it out");
        }

        if (ObjectReader.Open(node, DriveShapes.RampTimes, errors) is not { } ramps || ramps.Require("toSpeed", $"counts/s, or {Show.Quoted(Commanded)}") is not { } speed)
        {
            return null;
        }

        if (speed.Kind != NodeKind.Text)
        {
            return Values.Number(speed, NumberRange.Above0("counts/s"), errors) is var value && double.IsFinite(value) ? new RampTimesDefinition(value) : null;
        }

        if (speed.Text != Commanded || FieldDraft.Find(command, FieldNames.ProfileVelocity) is null)
        {
            errors.Add(speed, $"must be counts/s, or {Show.Quoted(Commanded)} where {Show.Quoted(FieldNames.ProfileVelocity)} is a command field");
            return null;
        }

        return new RampTimesDefinition(null);
    }
}
