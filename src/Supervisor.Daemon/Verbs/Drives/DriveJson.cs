namespace Supervisor.Daemon.Verbs.Drives;

/// <summary>What a drive's parameters are known to be.</summary>
public sealed record DriveJson(string Axis, string Definition, IReadOnlyList<DriveParameterJson> Parameters, TimeoutProofStateJson? TimeoutProof = null);

/// <summary>How the proof of a drive's communication time-out stands: never, proven, outdated or failed.</summary>
public sealed record TimeoutProofStateJson(string State, double TimeoutMs, string? PassedTime, bool? TimeTrusted, double? Velocity, double? Distance, string Text);

/// <summary>Proofs of communication time-outs, newest first.</summary>
public sealed record TimeoutProofsJson(IReadOnlyList<TimeoutProofJson> Proofs);

/// <summary>One proof; <c>Sequence</c> and <c>Time</c> are null in the answer to the proof itself.</summary>
public sealed record TimeoutProofJson(
    long? Sequence, string? Time, bool? TimeTrusted, string Axis, string Unit, string Verdict, string Reaction, double TimeoutMs, double SilenceMs, double Velocity, double Distance,
    double? AllowedDistance, double? RestMs, double? OffMs, double? ActedMs, int DriveCode, string Holder);

/// <summary>How a proof that was asked for ended.</summary>
public sealed record ProvedTimeoutJson(ulong Id, string Outcome, string? Reason, string Message, TimeoutProofJson? Proof);

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
