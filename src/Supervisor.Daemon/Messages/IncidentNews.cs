using System.Globalization;
using Supervisor.History;
using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Reading;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Messages;

/// <summary>News of incidents out of the history's file.</summary>
/// <param name="history">The history.</param>
/// <param name="bootId">Identity of this boot.</param>
/// <param name="isSilent">What a person took out of service: recorded, and not told.</param>
internal sealed class IncidentNews(HistoryStore history, string bootId, Func<IncidentStory, bool> isSilent) : INews
{
    // A recovery that goes on and on, or a storm, must not keep an incident from being told.
    private static readonly TimeSpan LongestSettle = TimeSpan.FromMinutes(2);

    /// <inheritdoc/>
    public long Version => history.Health.Committed;

    /// <inheritdoc/>
    public IReadOnlyList<News> After(long incident, int limit, TimeSpan settle, in ClockReading now)
    {
        var found = new List<News>();
        foreach (var number in history.Reader.IncidentsAfter(incident, limit))
        {
            if (Read(number, settle, now) is not { } news)
            {
                continue;
            }

            found.Add(news);
            if (!news.IsSettled)
            {
                break;
            }
        }

        return found;
    }

    /// <inheritdoc/>
    public News? Of(long incident, in ClockReading now) => Read(incident, TimeSpan.Zero, now);

    private News? Read(long number, TimeSpan settle, in ClockReading now) => history.Reader.Incident(number) is not { } story
        ? null
        : new News(number, (int)PriorityOf(story), CauseOf(story.Summary.Lead.Record), IsSettled(story, settle, now), StandingOf(story.Summary.State)) { IsSilent = isSilent(story) };

    /// <summary>That of its gravest fault; a notice has one of its own.</summary>
    internal static FaultPriority PriorityOf(IncidentStory story)
    {
        var first = story.Summary.Gravest ?? story.Summary.Lead;
        var gravest = story.Records.Select(stored => stored.Record switch
        {
            FaultRecord { Class: not FaultClass.Warning } fault => FaultCatalogue.Entry(fault.Code).Priority,
            AlarmRecord { IsCall: true } alarm => alarm.Priority,
            _ => FaultPriority.Low,
        }).DefaultIfEmpty(FaultPriority.Low).Max();
        var own = first.Record switch
        {
            FaultRecord fault => FaultCatalogue.Entry(fault.Code).Priority,
            AlarmRecord alarm => alarm.Priority,
            NoticeRecord { Notice: NoticeKind.FileSetAside or NoticeKind.RunBroke } => FaultPriority.Medium,
            _ => FaultPriority.Low,
        };
        return own > gravest ? own : gravest;
    }

    /// <summary>Equal for equal causes.</summary>
    internal static string CauseOf(HistoryRecord lead) => lead switch
    {
        FaultRecord fault => string.Create(CultureInfo.InvariantCulture, $"fault {(int)fault.Code} {fault.Axis ?? fault.Interlock ?? fault.Port}"),
        AlarmRecord alarm => string.Create(CultureInfo.InvariantCulture, $"alarm {alarm.Number} {alarm.Source}"),
        InterlockRecord trip => $"interlock {trip.Interlock}",
        LinkRecord link => $"link {link.Port}",
        NoticeRecord notice => string.Create(CultureInfo.InvariantCulture, $"notice {(int)notice.Notice}"),
        _ => string.Create(CultureInfo.InvariantCulture, $"record {(int)lead.Kind}"),
    };

    private bool IsSettled(IncidentStory story, TimeSpan settle, in ClockReading now)
    {
        var first = story.Summary.First;
        if (first.BootId != bootId || now.Monotonic - first.Record.At >= (settle > LongestSettle ? settle : LongestSettle))
        {
            return true;
        }

        var last = first.Record.At;
        var recovering = new HashSet<string>(StringComparer.Ordinal);
        foreach (var stored in story.Records)
        {
            last = stored.Record is FaultRecord or RecoveryRecord or NoticeRecord or AlarmRecord { IsCall: true } && stored.Record.At > last ? stored.Record.At : last;
            if (stored.Record is RecoveryRecord step)
            {
                _ = step.Step is RecoveryStep.Begun or RecoveryStep.Failed ? recovering.Add(step.Axis) : recovering.Remove(step.Axis);
            }
        }

        return recovering.Count == 0 && now.Monotonic - last >= settle;
    }

    private static NewsStanding StandingOf(IncidentState state) => state switch
    {
        IncidentState.Standing or IncidentState.Cleared => NewsStanding.Standing,
        IncidentState.Back => NewsStanding.Back,
        _ => NewsStanding.NoEnd,
    };
}
