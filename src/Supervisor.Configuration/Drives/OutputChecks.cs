using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Drives;

/// <summary>Digital outputs must not reach into what moves the axis.</summary>
internal static class OutputChecks
{
    private const int FirstMakersBit = 11;

    private static readonly string[] Reserved =
    [
        FieldNames.Controlword, FieldNames.Mode, FieldNames.TargetPosition, FieldNames.ProfileVelocity, FieldNames.ProfileAcceleration,
        FieldNames.ProfileDeceleration, FieldNames.TorqueLimit, FieldNames.AccelerationTime, FieldNames.DecelerationTime,
    ];

    /// <summary>True for a command field by whose value the axis moves or stops.</summary>
    public static bool CommandsTheAxis(string field) => Reserved.Contains(field);

    public static void Check(
        ObjectReader file, IReadOnlyDictionary<string, BitReference> outputs, CommandBits? commands, BitReference? holdBrake, FileErrors errors)
    {
        var taken = new HashSet<(string, int)>();
        foreach (var bit in new[] { commands?.Power, commands?.Go, commands?.Stop, commands?.FindReference, commands?.ClearFault })
        {
            if (bit is { } used)
            {
                taken.Add((used.Field, used.Bit));
            }
        }

        if (holdBrake is { } brake)
        {
            CheckBrake(file.Find("holdBrake")!, brake, taken, errors);
        }

        foreach (var member in file.Find("outputs")?.Members ?? [])
        {
            if (!outputs.TryGetValue(member.Name, out var output) || output == default)
            {
                continue;
            }

            if (Reserved.Contains(output.Field))
            {
                errors.Add(member.Value, $"{Show.Quoted(output.Field)} commands the axis; an output can't be a bit of it");
            }
            else if (!taken.Add((output.Field, output.Bit)))
            {
                errors.Add(member.Value, $"bit {Show.Quoted($"{output.Field}.{output.Bit}")} is already used by a command or another output");
            }
        }
    }

    /// <summary>A controlword has bits that its maker may use (CiA 402: 11 to 15, value from memory); numbers that command the axis have none.</summary>
    private static void CheckBrake(Node node, BitReference brake, HashSet<(string, int)> taken, FileErrors errors)
    {
        if (brake.Field == FieldNames.Controlword ? brake.Bit < FirstMakersBit : Reserved.Contains(brake.Field))
        {
            errors.Add(node, $"{Show.Quoted($"{brake.Field}.{brake.Bit}")} commands the axis; the brake can't be held by it");
        }
        else if (!taken.Add((brake.Field, brake.Bit)))
        {
            errors.Add(node, $"bit {Show.Quoted($"{brake.Field}.{brake.Bit}")} already commands something");
        }
    }
}
