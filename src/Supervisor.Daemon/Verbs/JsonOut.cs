using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Serialization;
using System.Text.Json.Serialization.Metadata;
using Supervisor.Daemon.Messages;
using Supervisor.Daemon.Verbs.Alarms;
using Supervisor.Daemon.Verbs.Diagnose;
using Supervisor.Daemon.Verbs.Drives;
using Supervisor.Daemon.Verbs.History;
using Supervisor.Daemon.Verbs.Lines;
using Supervisor.Daemon.Verbs.Messages;
using Supervisor.Daemon.Verbs.Signals;
using Supervisor.Daemon.Verbs.Traces;

namespace Supervisor.Daemon.Verbs;

/// <summary>What verbs print with <c>--json</c>: one document, one line.</summary>
public static class JsonOut
{
    /// <summary>A number that JSON can say; null for one that is not known.</summary>
    public static double? Number(double value) => double.IsFinite(value) ? value : null;

    /// <summary>Prints one line.</summary>
    public static void Print<T>(T value, JsonTypeInfo<T> type) => Console.Out.WriteLine(JsonSerializer.Serialize(value, type));
}

/// <summary>A command's end.</summary>
public sealed record CommandJson(ulong Id, string Outcome, string? Reason, string? Axis, string Message, double? ContactPosition);

/// <summary>The whole machine; shape fixed.</summary>
public sealed record StatusJson(
    string Machine, string Mode, bool MotionPermitted, string? Authority,
    IReadOnlyList<AxisJson> Axes, IReadOnlyList<InterlockJson> Interlocks, IReadOnlyList<PortJson> Ports, IReadOnlyList<ZoneJson> Zones, HistoryJson? History = null)
{
    /// <summary>Modules of inputs and outputs.</summary>
    public IReadOnlyList<ModuleJson> Modules { get; init; } = [];

    /// <summary>Named outputs.</summary>
    public IReadOnlyList<OutputJson> Outputs { get; init; } = [];

    /// <summary>The drives' power; null where the machine file has no power-enable.</summary>
    public PowerJson? PowerEnable { get; init; }

    /// <summary>The alive output; null where there is none.</summary>
    public AliveJson? Alive { get; init; }

    /// <summary>Signal lights.</summary>
    public IReadOnlyList<LightJson> Lights { get; init; } = [];

    /// <summary>The horn; null where there is none.</summary>
    public HornJson? Horn { get; init; }

    /// <summary>The alarms in short.</summary>
    public Alarms.AlarmSummaryJson? Alarms { get; init; }

    /// <summary>Channels on which incidents are told to people.</summary>
    public IReadOnlyList<MessageChannelJson> MessageChannels { get; init; } = [];
}

/// <summary>A module of inputs and outputs.</summary>
public sealed record ModuleJson(string Name, bool Online, bool OutputsReady, string WhatToDo)
{
    /// <summary>Failed among its last exchanges, percent.</summary>
    public double ErrorPercent { get; init; }
}

/// <summary>A named output; <c>On</c> is null while its level is not known.</summary>
public sealed record OutputJson(string Name, string Output, bool? On, bool Confirmed, string HeldBecause);

/// <summary>The drives' power.</summary>
public sealed record PowerJson(string State, string? Fault, IReadOnlyList<string> Axes, string WhatToDo);

/// <summary>The alive output.</summary>
public sealed record AliveJson(string Output, bool Toggles, string Problem);

/// <summary>One axis; shape fixed.</summary>
public sealed record AxisJson(
    string Name, string State, string Detail, bool Referenced, double? Position, double? Velocity, double? Torque, string Unit,
    IReadOnlyList<string> InhibitedBy, string? Fault, bool Online, double? Target, int DriveCode,
    bool StopLocked, double? HeatPercent, double? TorqueRmsPercent, BrakeProofJson? BrakeProof = null, double SpeedPercent = 100, string? FaultConsequenceOf = null,
    TorqueLoadJson? TorqueLoad = null, Drives.TimeoutProofStateJson? TimeoutProof = null)
{
    /// <summary>Failed among the last exchanges with its drive, percent.</summary>
    public double ErrorPercent { get; init; }
}

/// <summary>Torque summed up since the daemon started, percent² s, and the time it was known, s; null where the drive has not reported torque.</summary>
public sealed record TorqueLoadJson(double SquareSeconds, double Seconds);

/// <summary>The proof of an axis's brake; null where the machine file has none.</summary>
public sealed record BrakeProofJson(string State, double? PassedHoursAgo, double? DueInHours, double? Movement);

/// <summary>
/// How the history fares: whether records reach the disk, why not, how many could not be kept since the start, how many repeats were kept as first, last
/// and count, whether they are now, and what was written, bytes.
/// </summary>
public sealed record HistoryJson(bool Good, string Problem, long Lost, long Collapsed, bool Sparing, long WrittenBytes);

/// <summary>One interlock; shape fixed.</summary>
public sealed record InterlockJson(string Name, bool Open, bool NeedsReset, IReadOnlyList<string> OpenInputs, string WhatToDo);

/// <summary>One zone.</summary>
public sealed record ZoneJson(string Name, bool Clear, IReadOnlyList<string> HeldBy, string WhatToDo);

/// <summary>One port; shape fixed.</summary>
public sealed record PortJson(
    string Name, string State, double CycleMs, long Exchanges, long Errors, PercentilesJson ExchangeMs, double HeartbeatAgeMs, CyclesJson Overruns)
{
    /// <summary>Failed among the last exchanges, percent.</summary>
    public double ErrorPercent { get; init; }

    public CountsJson LastMinute { get; init; } = new(0, 0);

    public CountsJson LastHour { get; init; } = new(0, 0);

    /// <summary>What is wrong with its device; empty when nothing is.</summary>
    public string Problem { get; init; } = "";
}

/// <summary>Exchanges of a port, and those that failed.</summary>
public sealed record CountsJson(long Exchanges, long Errors);

/// <summary>Cycles of a port that could not be kept: since the start, in the last minute and in the last hour.</summary>
public sealed record CyclesJson(long Skipped, double WorstLateMs, OverrunsJson LastMinute, OverrunsJson LastHour);

/// <summary>Cycles skipped, and how late one began at most.</summary>
public sealed record OverrunsJson(long Skipped, double WorstLateMs);

/// <summary>Durations in milliseconds.</summary>
public sealed record PercentilesJson(double P50, double P99);

/// <summary>Stops as measured, newest first.</summary>
public sealed record StopsJson(IReadOnlyList<StopJson> Stops);

/// <summary>One measured stop.</summary>
public sealed record StopJson(
    long Sequence, string Time, bool TimeTrusted, string Axis, string Cause, int Category, string Unit, double Velocity, double Distance, double? RestMs, double? OffMs);

/// <summary>A list of faults, newest first, and what was done by itself about them, newest first.</summary>
public sealed record FaultsJson(IReadOnlyList<FaultJson> Faults, IReadOnlyList<RecoveryJson> Recoveries);

/// <summary>A step of a recovery. <c>Attempt</c> is 0 before the first.</summary>
public sealed record RecoveryJson(
    long Sequence, string Time, bool TimeTrusted, string Axis, string Fault, string Outcome, int Attempt, int Attempts, string? Action, string Detail);

/// <summary>One recorded fault.</summary>
public sealed record FaultJson(
    long Sequence, string Time, bool TimeTrusted, string? Axis, string? Port, string? Interlock, string Fault, int DriveCode,
    string State, double? Position, string? Unit, ulong CommandId, string Meaning, string Remedy, bool Warning, string? Note, string? ConsequenceOf = null);

/// <summary>Every fault there can be.</summary>
public sealed record CatalogueJson(IReadOnlyList<CatalogueEntryJson> Faults);

/// <summary>One entry of the catalogue. <c>Fault</c> is the name that records and errors carry.</summary>
public sealed record CatalogueEntryJson(
    int Number, string Fault, string Name, string Class, string Priority, IReadOnlyList<string> Causes, string Consequence, string AxisStop, string GroupStop,
    string Meaning, string Remedy, string Urgency, bool MayRecover);

/// <summary>What a check found.</summary>
public sealed record CheckJson(
    string File, bool Good, string? Name, IReadOnlyList<CheckedPortJson> Ports, IReadOnlyList<CheckedAxisJson> Axes,
    IReadOnlyList<CheckedInterlockJson> Interlocks, IReadOnlyList<CheckedModuleJson> Modules, IReadOnlyList<CheckedLineJson> GpioLines, IReadOnlyList<ErrorJson> Errors)
{
    /// <summary>What the file asks for and nothing in it promises: to be measured at the machine.</summary>
    public IReadOnlyList<string> Warnings { get; init; } = [];

    /// <summary>Zones.</summary>
    public IReadOnlyList<CheckedZoneJson> Zones { get; init; } = [];

    /// <summary>The budget of each port's line; empty where the file has errors.</summary>
    public IReadOnlyList<LineJson> Lines { get; init; } = [];

    /// <summary>Named outputs.</summary>
    public IReadOnlyList<CheckedOutputJson> Outputs { get; init; } = [];

    /// <summary>To whom incidents are told.</summary>
    public IReadOnlyList<CheckedChannelJson> Messages { get; init; } = [];

    /// <summary>The drives' communication time-outs, and whether they were proven on this machine.</summary>
    public IReadOnlyList<CheckedTimeoutJson> Timeouts { get; init; } = [];
}

/// <summary>A channel as a machine file says it; where to, without what may be a secret.</summary>
public sealed record CheckedChannelJson(string Name, string Kind, string To, string LeastPriority, int PerHour, double SettleS, bool TellEnd, string Language);

/// <summary>A drive's communication time-out; <c>State</c> is none, never, proven, outdated or failed. None: the drive definition declares none.</summary>
public sealed record CheckedTimeoutJson(string Axis, double? TimeoutMs, string? Reaction, string State, string? PassedTime, string Text);

/// <summary>What a port's line carries: cycle reached by feedback alone, with every axis commanded, and as asked; <c>Use</c> as a share of the cycle.</summary>
public sealed record LineJson(string Port, double ReachedMs, double CommandedMs, double CycleMs, double Use, IReadOnlyList<LineAxisJson> Axes)
{
    /// <summary>Its modules.</summary>
    public IReadOnlyList<LineModuleJson> Modules { get; init; } = [];
}

/// <summary>What a module costs on its line: with its outputs set and read back, and one reading at its turn.</summary>
public sealed record LineModuleJson(string Name, int Bits, double ExchangeMs, double ReadMs, double PollMs);

/// <summary>What an axis costs on its line, and what the line costs it.</summary>
public sealed record LineAxisJson(
    string Name, int Bits, double ExchangeMs, double CommandedMs, double LegalSilenceMs, double OthersMuteMs, double CommunicationTimeoutMs,
    double StopFrameMs, double StoppingDistance);

/// <summary>A named output as a machine file says it.</summary>
public sealed record CheckedOutputJson(
    string Name, string Output, IReadOnlyList<string> Axes, string AtStart, string AtStop, string AtDisable, string AtFault, string AtLoss);

/// <summary>A port as a machine file says it.</summary>
public sealed record CheckedPortJson(string Name, string Device, int Baud, double CycleMs, int Axes)
{
    /// <summary>Shares of failed exchanges that are told.</summary>
    public CheckedErrorRateJson? ErrorRate { get; init; }
}

/// <summary>Of the last so many exchanges of a unit or port: from which share on a warning is told, and a fault.</summary>
public sealed record CheckedErrorRateJson(int Exchanges, double WarningPercent, double FaultPercent);

/// <summary>What a device must tell of itself (function 43); null or empty: any.</summary>
public sealed record CheckedIdentificationJson(string? Vendor, string? Product, IReadOnlyList<string> Revisions);

/// <summary>An axis as a machine file says it.</summary>
public sealed record CheckedAxisJson(string Name, string Port, int Address, string Drive, string Unit, string Reference)
{
    /// <summary>What its drive must tell of itself; null: it is not asked.</summary>
    public CheckedIdentificationJson? Identification { get; init; }
}

/// <summary>An interlock as a machine file says it.</summary>
public sealed record CheckedInterlockJson(string Name, string Kind, int StopCategory, IReadOnlyList<string> Axes);

/// <summary>A zone as a machine file says it.</summary>
public sealed record CheckedZoneJson(string Name, string Kind, IReadOnlyList<string> Axes);

/// <summary>A module as a machine file says it; <c>AtLoss</c> is what becomes of its outputs when nobody speaks to it.</summary>
public sealed record CheckedModuleJson(string Name, string Port, int Address, int Inputs, int Outputs, double PollMs, string AtLoss, double? TimeoutMs)
{
    /// <summary>What it must tell of itself; null: it is not asked.</summary>
    public CheckedIdentificationJson? Identification { get; init; }
}

/// <summary>A GPIO line as a machine file says it; looked for by <c>diagnose</c> only.</summary>
public sealed record CheckedLineJson(string Text, string Chip, string Line, string Direction, string Use);

/// <summary>One error of a file.</summary>
public sealed record ErrorJson(string File, int Line, int Column, string Path, string Message);

/// <summary>Serial ports of this computer.</summary>
public sealed record PortsJson(IReadOnlyList<DeviceJson> Ports);

/// <summary>One serial port of this computer.</summary>
public sealed record DeviceJson(string Name, IReadOnlyList<string> StableNames)
{
    /// <summary>Processes that have it open, as far as this user may see them.</summary>
    public IReadOnlyList<string> HeldBy { get; init; } = [];

    /// <summary>How long its adapter may keep what came; null where its driver does not tell.</summary>
    public double? LatencyTimerMs { get; init; }
}

/// <summary>How a demo went; shape fixed.</summary>
public sealed record DemoJson(
    int Cycles, int OrderedStops, int Faults, int Recoveries, int Refusals, long Exchanges, long ExchangeErrors, PercentilesJson ExchangeMs, double DurationS);

/// <summary>Made at compile time: nothing here is found by reflection.</summary>
[JsonSourceGenerationOptions(PropertyNamingPolicy = JsonKnownNamingPolicy.CamelCase)]
[JsonSerializable(typeof(CommandJson))]
[JsonSerializable(typeof(StatusJson))]
[JsonSerializable(typeof(FaultsJson))]
[JsonSerializable(typeof(CountersJson))]
[JsonSerializable(typeof(MessageJson))]
[JsonSerializable(typeof(StopsJson))]
[JsonSerializable(typeof(AlarmListJson))]
[JsonSerializable(typeof(AlarmAnswerJson))]
[JsonSerializable(typeof(HistoryJsonRecord))]
[JsonSerializable(typeof(HistoryFollowJson))]
[JsonSerializable(typeof(IncidentsJson))]
[JsonSerializable(typeof(IncidentStoryJson))]
[JsonSerializable(typeof(TraceLineJson))]
[JsonSerializable(typeof(RecordingsJson))]
[JsonSerializable(typeof(StatisticsJson))]
[JsonSerializable(typeof(MessagesJson))]
[JsonSerializable(typeof(WebhookJson))]
[JsonSerializable(typeof(CatalogueJson))]
[JsonSerializable(typeof(CheckJson))]
[JsonSerializable(typeof(PortsJson))]
[JsonSerializable(typeof(ScanJson))]
[JsonSerializable(typeof(LineTestJson))]
[JsonSerializable(typeof(DiagnosisJson))]
[JsonSerializable(typeof(DemoJson))]
[JsonSerializable(typeof(DriveJson))]
[JsonSerializable(typeof(TimeoutProofsJson))]
[JsonSerializable(typeof(ProvedTimeoutJson))]
[JsonSerializable(typeof(DriveSavedJson))]
[JsonSerializable(typeof(DriveComparedJson))]
[JsonSerializable(typeof(DriveLoadedJson))]
public sealed partial class JsonShapes : JsonSerializerContext
{
    /// <summary>Texts as people wrote them: names in other languages stay readable.</summary>
    public static JsonShapes Readable { get; } = new(new JsonSerializerOptions
    {
        PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    });
}
