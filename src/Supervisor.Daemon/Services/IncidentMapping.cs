using Supervisor.Api.V1;
using Supervisor.History.Entries;
using Supervisor.History.Reading;
using Supervisor.Records.Faults;
using FaultRecord = Supervisor.History.Entries.FaultRecord;

namespace Supervisor.Daemon.Services;

/// <summary>Incidents as messages.</summary>
internal sealed class IncidentMapping(RecordMapping records)
{
    public Incident ToMessage(IncidentSummary summary)
    {
        var message = new Incident
        {
            Number = summary.Number,
            Lead = records.ToMessage(summary.Lead),
            Faults = summary.Faults,
            Consequences = summary.Consequences,
            State = StateOf(summary.State),
        };
        message.Axes.AddRange(summary.Axes);
        if (summary.Gravest is { } gravest)
        {
            message.Gravest = records.ToMessage(gravest);
        }

        if (summary.BackAfter is { } back)
        {
            message.BackAfterS = back.TotalSeconds;
        }

        return message;
    }

    public GetIncidentResponse ToMessage(IncidentStory story)
    {
        var message = new GetIncidentResponse { Incident = ToMessage(story.Summary), LeftOut = story.LeftOut };
        message.Before.AddRange(story.Before.Select(records.ToMessage));
        message.Records.AddRange(story.Records.Select(records.ToMessage));
        message.Advice.AddRange(Advise(story));
        return message;
    }

    /// <summary>For what leads, then what is graver, then every other fault that follows from nothing.</summary>
    private static IEnumerable<Advice> Advise(IncidentStory story)
    {
        StoredRecord?[] first = [story.Summary.Lead, story.Summary.Gravest];
        var faults = first.Concat(story.Records.Where(record => !record.Placement.IsConsequence))
            .Select(stored => stored?.Record).OfType<FaultRecord>().Where(fault => fault.Class != FaultClass.Warning && !IsExplainedBy(story.Summary.Lead.Record, fault));
        foreach (var alike in faults.GroupBy(fault => fault.Code))
        {
            var entry = FaultCatalogue.Entry(alike.Key);
            var advice = new Advice { Fault = ApiErrors.ReasonOf(alike.Key), Name = entry.Name, Meaning = entry.Meaning, Remedy = entry.Remedy };
            advice.Causes.AddRange(entry.Causes);
            advice.Axes.AddRange(alike.Select(fault => fault.Axis).OfType<string>().Distinct());
            yield return advice;
        }
    }

    /// <summary>What led until the loss of its port was told.</summary>
    private static bool IsExplainedBy(History.Entries.HistoryRecord lead, FaultRecord fault) =>
        lead is LinkRecord port && fault.Class == FaultClass.Link && fault.Port == port.Port;

    private static Api.V1.IncidentState StateOf(History.Reading.IncidentState state) => state switch
    {
        History.Reading.IncidentState.NoAxis => Api.V1.IncidentState.NoAxis,
        History.Reading.IncidentState.Standing => Api.V1.IncidentState.Standing,
        History.Reading.IncidentState.Cleared => Api.V1.IncidentState.Cleared,
        History.Reading.IncidentState.Back => Api.V1.IncidentState.Back,
        _ => Api.V1.IncidentState.Restarted,
    };
}
