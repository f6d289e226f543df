using Supervisor.Api.V1;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Parameters;

namespace Supervisor.Daemon.Verbs.Drives;

/// <summary>One parameter of a file beside the drive's.</summary>
/// <param name="Name">Name in the drive definition.</param>
/// <param name="Unit">Its unit; empty where there is none.</param>
/// <param name="File">The file's value; null where the file has none.</param>
/// <param name="Drive">The drive's value; null where it can't be read.</param>
/// <param name="Wanted">What a load gives the drive; null: it is left alone.</param>
/// <param name="Note">Why a load does something else than the file says; may be empty.</param>
public sealed record PlannedParameter(string Name, string Unit, double? File, double? Drive, double? Wanted, string Note)
{
    /// <summary>True when file and drive have the same.</summary>
    public bool IsSame => File is { } file && Drive is { } drive && DrivePlan.Same(file, drive);

    /// <summary>True when a load writes it.</summary>
    public bool IsWritten => Wanted is { } wanted && !(Drive is { } drive && DrivePlan.Same(wanted, drive));
}

/// <summary>Something of the drive's identity that is not as in the file.</summary>
/// <param name="Word">What <c>--accept</c> has to name.</param>
/// <param name="Message">What differs.</param>
public sealed record IdentityDifference(string Word, string Message);

/// <summary>A file laid beside a drive: what is the same, what a load would write, and what speaks against it.</summary>
public sealed class DrivePlan
{
    /// <summary>Words of <c>--accept</c>.</summary>
    public static readonly string[] AcceptWords = ["axis", "definition", FieldNames.SerialNumber, FieldNames.Model, FieldNames.FirmwareVersion, "file"];

    private static readonly string[] IdentityNames = [FieldNames.SerialNumber, FieldNames.Model, FieldNames.FirmwareVersion];

    private DrivePlan(
        IReadOnlyList<PlannedParameter> parameters, IReadOnlyList<IdentityDifference> identity, IReadOnlyList<string> problems, double? serialNumber, bool isCut)
    {
        Parameters = parameters;
        Identity = identity;
        Problems = problems;
        SerialNumber = serialNumber;
        IsCut = isCut;
    }

    /// <summary>Parameters that can be loaded, in the drive definition's order.</summary>
    public IReadOnlyList<PlannedParameter> Parameters { get; }

    /// <summary>What must be accepted by its name before a load.</summary>
    public IReadOnlyList<IdentityDifference> Identity { get; }

    /// <summary>What nobody can accept.</summary>
    public IReadOnlyList<string> Problems { get; }

    /// <summary>What the drive tells; null where its definition has none.</summary>
    public double? SerialNumber { get; }

    /// <summary>A load of this drive was cut, and until one has come to its end the axis is held.</summary>
    public bool IsCut { get; }

    /// <summary>Parameters in which file and drive differ.</summary>
    public int Differences => Parameters.Count(parameter => !parameter.IsSame);

    /// <summary>True when two values are the same step of a register.</summary>
    /// <remarks>Neighbours among 2^32 steps are farther apart than this share, rounding of decimal scales less.</remarks>
    public static bool Same(double one, double other) => Math.Abs(one - other) <= 1e-11 * Math.Max(Math.Abs(one), Math.Abs(other));

    /// <summary>Lays a file beside a drive.</summary>
    public static DrivePlan Make(string axis, ReadParameterSet file, GetDriveResponse drive, ReadParametersResponse readings)
    {
        ArgumentNullException.ThrowIfNull(file);
        ArgumentNullException.ThrowIfNull(drive);
        ArgumentNullException.ThrowIfNull(readings);
        var set = file.Set;
        var values = readings.Readings.Where(reading => reading.HasValue).ToDictionary(reading => reading.Name, reading => reading.Value);
        var saved = set.Parameters.ToDictionary(parameter => parameter.Name);
        var problems = new List<string>();
        var parameters = new List<PlannedParameter>();
        foreach (var parameter in drive.Parameters.Where(parameter => parameter.Writable && !parameter.SetByMachineFile))
        {
            saved.TryGetValue(parameter.Name, out var entry);
            if (entry is not null && (entry.Unit ?? "") != parameter.Unit)
            {
                problems.Add($"{parameter.Name} is in \"{entry.Unit}\" in the file and in \"{parameter.Unit}\" in the drive definition: the values can't be compared");
            }

            parameters.Add(Plan(parameter, entry?.Value, values.TryGetValue(parameter.Name, out var value) ? value : null));
        }

        var known = drive.Parameters.Select(parameter => parameter.Name).ToHashSet();
        problems.AddRange(set.Parameters.Where(parameter => !known.Contains(parameter.Name))
            .Select(parameter => $"the file has {parameter.Name}, which the drive definition {drive.Definition} does not declare"));
        double? serial = values.TryGetValue(FieldNames.SerialNumber, out var told) ? told : null;
        return new DrivePlan(parameters, [.. Compare(axis, file, drive, values)], problems, serial, readings.SetIncomplete);
    }

    private static PlannedParameter Plan(DriveParameter parameter, double? file, double? drive)
    {
        var isFixed = parameter.HasFixedValue && parameter.OnDifference != "warn";
        var wanted = isFixed ? parameter.FixedValue : file;
        var note = isFixed && file is { } value && !Same(value, parameter.FixedValue) ? "fixed by the machine file"
            : isFixed && file is null ? "not in the file, fixed by the machine file"
            : file is null ? "not in the file: left as it is"
            : "";
        return new PlannedParameter(parameter.Name, parameter.Unit, file, drive, wanted, note);
    }

    private static IEnumerable<IdentityDifference> Compare(string axis, ReadParameterSet file, GetDriveResponse drive, Dictionary<string, double> values)
    {
        var set = file.Set;
        if (!file.IsAsSaved)
        {
            yield return new IdentityDifference("file", "the file was changed since it was saved");
        }

        if (set.Axis != axis)
        {
            yield return new IdentityDifference("axis", $"the file was saved from {set.Axis}, not from {axis}");
        }

        if (set.Definition != drive.Definition)
        {
            yield return new IdentityDifference("definition", $"the file is of drive definition {set.Definition}, {axis} has {drive.Definition}");
        }

        foreach (var name in IdentityNames)
        {
            var isInFile = set.Identity.TryGetValue(name, out var saved);
            var isInDrive = values.TryGetValue(name, out var found);
            if (isInFile && isInDrive && saved != found)
            {
                yield return new IdentityDifference(name, $"{name}: the file's drive has {Text.Of(saved)}, this one {Text.Of(found)}");
            }
            else if (isInFile != isInDrive)
            {
                yield return new IdentityDifference(name, $"{name}: only {(isInFile ? "the file" : "the drive")} tells it");
            }
        }
    }
}
