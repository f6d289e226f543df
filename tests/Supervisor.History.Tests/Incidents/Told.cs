using Supervisor.History.Entries;
using Supervisor.History.Incidents;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.History.Tests.Incidents;

/// <summary>Tells records to a grouping, as a writer numbers them: 1, 2, 3, …</summary>
internal sealed class Told
{
    private readonly IncidentSteps _steps;

    public Told(double windowS = 10) => _steps = new IncidentSteps(Rules(windowS));

    public long Last { get; private set; }

    public static IncidentRules Rules(double windowS = 10) => new()
    {
        Window = TimeSpan.FromSeconds(windowS),
        Groups = new Dictionary<string, string> { ["gantry"] = "head", ["dibber"] = "head", ["tray"] = "belts" },
    };

    public Placement This(HistoryRecord record) => _steps.Place(++Last, record);

    public void Recall(params (long Sequence, Placement Placement, HistoryRecord Record)[] records)
    {
        _steps.Recall(records);
        Last = records.Max(record => record.Sequence);
    }

    public static FaultRecord Fault(
        double atS, string? axis, FaultCode code = FaultCode.FollowingError, string? port = "line-a", AxisState state = AxisState.Moving, string consequenceOf = "") => new(
        TimeSpan.FromSeconds(atS), axis, port, null, code, FaultCatalogue.ClassOf(code), 0, state, 0, 0) { ConsequenceOf = consequenceOf };

    public static InterlockRecord Trip(double atS, string interlock = "emergency stop") => new(TimeSpan.FromSeconds(atS), interlock, InterlockChange.Tripped, ["tray.input1"]);

    public static StopRecord Stop(double atS, string axis) => new(TimeSpan.FromSeconds(atS), axis, "mm", "", 1, 100, 5, TimeSpan.FromMilliseconds(80), null);

    public static ReturnRecord Back(double atS, string axis, ReturnStep step = ReturnStep.Ready) => new(TimeSpan.FromSeconds(atS), axis, FaultCode.FollowingError, step);

    public static RecoveryRecord Recovery(double atS, string axis, RecoveryStep step) => new(TimeSpan.FromSeconds(atS), axis, FaultCode.LinkLost, step, 1, 3);

    public static CommandRecord Command(double atS, string text, string? axis, Outcome outcome = Outcome.Done, FaultCode fault = FaultCode.None, params string[] axes) =>
        new(TimeSpan.FromSeconds(atS), 7, text, "panel", axis, outcome, Refusal.None, fault, "") { Axes = axes };

    public static NoticeRecord Notice(double atS, NoticeKind kind) => new(TimeSpan.FromSeconds(atS), kind, 1, "");
}
