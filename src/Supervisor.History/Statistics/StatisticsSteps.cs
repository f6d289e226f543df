using Supervisor.History.Entries;
using Supervisor.History.Reading;
using Supervisor.Records.Faults;

namespace Supervisor.History.Statistics;

/// <summary>Counts over a period, record by record in the order of writing, in bounded memory. Without clock and file.</summary>
internal sealed class StatisticsSteps(StatisticsQuestion question)
{
    // More than can be open at once.
    private const int RecentIncidents = 64;

    private readonly Timeline _time = new(question.Since, question.Until);
    private readonly DownTimes _down = new();
    private readonly AlarmLoad _alarms = new();
    private readonly StopGroups _stops = new();
    private readonly Pareto<FaultCode> _codes = new();
    private readonly Pareto<string> _axes = new();
    private readonly Queue<long> _recent = new();
    private long _incidents, _faults, _warnings, _undated;

    /// <summary>Kinds that count; others only show that the supervisor ran.</summary>
    public static IReadOnlyList<RecordKind> Kinds { get; } = [RecordKind.Start, RecordKind.End, RecordKind.Fault, RecordKind.Notice, RecordKind.Stop, RecordKind.Return];

    /// <summary>True between a start and an end in order.</summary>
    public bool IsRunning => _time.IsRunning;

    /// <summary>Boot of the last record.</summary>
    public string Boot => _time.Boot;

    /// <summary>Takes the next record.</summary>
    public void Take(StoredRecord stored)
    {
        ArgumentNullException.ThrowIfNull(stored);
        DateTimeOffset? utc = stored.IsTimeKnown ? stored.Utc : null;
        var isInPeriod = _time.IsInPeriod(utc);
        _undated += utc is null ? 1 : 0;
        switch (stored.Record)
        {
            case StartRecord:
                _down.LookAtStale(_time.Elapsed);
                _down.Forget();
                _time.Start(stored.BootId, stored.Record.At, utc);
                break;
            case EndRecord:
                Live(stored);
                _time.End();
                break;
            case FaultRecord fault:
                Live(stored);
                Fault(stored, fault, utc, isInPeriod);
                break;
            case ReturnRecord back when Concerns(back.Axis):
                Live(stored);
                _down.Back(back, isInPeriod, _time.Elapsed);
                break;
            case NoticeRecord when question.Axis is null:
                Live(stored);
                Incident(stored, isInPeriod);
                break;
            case StopRecord stop when isInPeriod && Concerns(stop.Axis):
                // Told once it is over, with the time at which it began: it says nothing about when.
                _stops.Add(stored, stop);
                break;
            default:
                break;
        }
    }

    /// <summary>A record of any kind: the supervisor ran.</summary>
    public void Live(StoredRecord stored)
    {
        ArgumentNullException.ThrowIfNull(stored);
        DateTimeOffset? utc = stored.IsTimeKnown ? stored.Utc : null;
        var at = stored.Record.At;
        if (stored.Count > 1 && stored.Last > at)
        {
            (at, utc) = (stored.Last, utc + (stored.Last - at));
        }

        _down.Pass(_time.Live(stored.BootId, at, utc));
        _alarms.Pass(_time.Elapsed);
    }

    /// <summary>All records are told.</summary>
    public MachineStatistics Result()
    {
        if (_time.IsRunning && question.RunsAt is { } now)
        {
            _down.Pass(_time.Live(_time.Boot, now, _time.UtcAt(now)));
            _alarms.Pass(_time.Elapsed);
        }

        _down.LookAtStale(_time.Elapsed);
        _time.Finish();
        var dependability = _down.Dependability;
        return new MachineStatistics(question, _incidents, _faults, _warnings, dependability, _time.NotRunning, _time.NotKnown, _time.Undated, _undated)
        {
            CodesByCount = _codes.Lines(),
            CodesByDownTime = _down.Codes.Lines(),
            AxesByCount = _axes.Lines(),
            AxesByDownTime = _down.Axes.Lines(),
            Alarms = _alarms.Result(dependability.Up + dependability.Down, _down.Stale),
            Stops = _stops.Groups(),
        };
    }

    private bool Concerns(string? axis) => question.Axis is null || axis == question.Axis;

    private void Fault(StoredRecord stored, FaultRecord fault, DateTimeOffset? utc, bool isInPeriod)
    {
        var isWarning = fault.Class == FaultClass.Warning;
        if (!isWarning)
        {
            _down.Lead(stored, fault.Code);
        }

        if (!Concerns(fault.Axis))
        {
            return;
        }

        var lasted = stored.Count > 1 && stored.Last > fault.At ? stored.Last - fault.At : TimeSpan.Zero;
        _alarms.Add(fault.Code, fault.Axis ?? fault.Interlock ?? fault.Port ?? "", stored.Count, _time.Elapsed - lasted, _time.Elapsed, utc, isInPeriod);
        if (isWarning)
        {
            _warnings += isInPeriod ? stored.Count : 0;
            return;
        }

        Incident(stored, isInPeriod);
        if (isInPeriod)
        {
            _faults += stored.Count;
            _codes.Add(fault.Code, stored.Count);
            if (fault.Axis is not null)
            {
                _axes.Add(fault.Axis, stored.Count);
            }
        }

        if (fault.Axis is { } axis)
        {
            _down.Fault(axis, fault, stored.Incident, isInPeriod, _time.Elapsed);
        }
    }

    private void Incident(StoredRecord stored, bool isInPeriod)
    {
        if (stored.Incident is not { } number || _recent.Contains(number))
        {
            return;
        }

        _recent.Enqueue(number);
        if (_recent.Count > RecentIncidents)
        {
            _recent.Dequeue();
        }

        _incidents += isInPeriod ? 1 : 0;
    }
}
