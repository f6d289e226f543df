using Supervisor.Records.Commands;
using Supervisor.Runtime.Axes;

namespace Supervisor.Scenarios.Exploration;

/// <summary>What happened inside one step: what reports and people would see, and what the monitor judges.</summary>
internal sealed class Trail
{
    private readonly int[] _rows = new int[16];

    /// <summary>Rows used, in order.</summary>
    public ReadOnlySpan<int> Rows => _rows.AsSpan(0, RowCount);

    public int RowCount { get; private set; }

    /// <summary>Why the step must not be; null when it may.</summary>
    public string? Violation { get; private set; }

    /// <summary>A command was given and not refused.</summary>
    public bool Accepted { get; set; }

    /// <summary>A command was taken in hand.</summary>
    public bool Took { get; set; }

    public Hand Ended { get; set; }

    public Outcome Outcome { get; set; }

    public int FaultReports { get; set; }

    public bool Latched { get; set; }

    public bool Unlatched { get; set; }

    public AxisDeadline Passed { get; set; }

    /// <summary>The drive's power was taken by a word of ours, out of operation enabled without disabling operation first.</summary>
    public bool CutByWord { get; set; }

    /// <summary>The drive's power was taken by a word of ours.</summary>
    public bool OffByWord { get; set; }

    public bool MotionBegan { get; set; }

    /// <summary>The drive took a new set-point.</summary>
    public bool SetPointTaken { get; set; }

    /// <summary>First contact became complete.</summary>
    public bool Met { get; set; }

    public bool TorqueBegan { get; set; }

    /// <summary>The drive began to push against its closed brake.</summary>
    public bool PushBegan { get; set; }

    /// <summary>Torque as the last feedback of the step told it; null without feedback.</summary>
    public bool? PoweredSeen { get; set; }

    public void Clear()
    {
        RowCount = 0;
        Violation = null;
        Accepted = Took = Latched = Unlatched = CutByWord = OffByWord = MotionBegan = TorqueBegan = PushBegan = SetPointTaken = Met = false;
        Ended = Hand.None;
        Outcome = Outcome.None;
        FaultReports = 0;
        Passed = AxisDeadline.None;
        PoweredSeen = null;
    }

    public void Use(int row)
    {
        if (RowCount == _rows.Length)
        {
            Violate("settles: a single feedback leads through more than sixteen rows");
            return;
        }

        _rows[RowCount++] = row;
    }

    /// <summary>The first violation is the one that counts.</summary>
    public void Violate(string what) => Violation ??= what;

    /// <summary>What can be seen from outside, as one value.</summary>
    public long Seen() =>
        (long)Ended | ((long)Outcome << 4) | ((Accepted ? 1L : 0) << 12) | ((Took ? 1L : 0) << 13) | ((long)FaultReports << 14) | ((Latched ? 1L : 0) << 20) | ((Unlatched ? 1L : 0) << 21);
}
