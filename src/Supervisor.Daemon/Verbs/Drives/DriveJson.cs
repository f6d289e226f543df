namespace Supervisor.Daemon.Verbs.Drives;

/// <summary>What a drive's parameters are known to be.</summary>
public sealed record DriveJson(string Axis, string Definition, IReadOnlyList<DriveParameterJson> Parameters);

/// <summary>One parameter as the supervisor knows it.</summary>
public sealed record DriveParameterJson(
    string Name, double? Value, string? Unit, bool Readable, bool Writable, bool Stored, bool SetByMachineFile, double? FixedValue, string? OnDifference, int Writes,
    string? Difference, bool BlocksAxis);

/// <summary>What was saved.</summary>
public sealed record DriveSavedJson(string Axis, string File, string Definition, int Parameters, IReadOnlyList<string> NotRead, string Sha256);

/// <summary>A file beside a drive.</summary>
public sealed record DriveComparedJson(
    string Axis, string File, bool Same, int Differences, IReadOnlyList<ComparedParameterJson> Parameters, IReadOnlyList<IdentityJson> Identity, IReadOnlyList<string> Problems);

/// <summary>One parameter of a file beside the drive's.</summary>
public sealed record ComparedParameterJson(string Name, string? Unit, double? File, double? Drive, bool Same);

/// <summary>Something of the identity that differs.</summary>
public sealed record IdentityJson(string Accept, string Message);

/// <summary>What a load planned and did.</summary>
public sealed record DriveLoadedJson(
    string Axis, string File, bool Complete, bool Saved, bool Reset, string Message, IReadOnlyList<LoadedParameterJson> Parameters, IReadOnlyList<IdentityJson> Identity,
    IReadOnlyList<string> Problems);

/// <summary>One parameter of a load; <c>Outcome</c> is null where nothing was to be sent.</summary>
public sealed record LoadedParameterJson(string Name, string? Unit, double? File, double? Drive, double? Wanted, string? Note, string? Outcome, double? After);
