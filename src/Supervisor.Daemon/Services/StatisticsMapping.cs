using Google.Protobuf.WellKnownTypes;
using Supervisor.Api.V1;
using Supervisor.History.Statistics;

namespace Supervisor.Daemon.Services;

/// <summary>Statistics as a message.</summary>
internal static class StatisticsMapping
{
    public static GetStatisticsResponse ToMessage(MachineStatistics told)
    {
        var message = new GetStatisticsResponse
        {
            Since = Timestamp.FromDateTimeOffset(told.Question.Since),
            Until = Timestamp.FromDateTimeOffset(told.Question.Until),
            Incidents = told.Incidents,
            Faults = told.Faults,
            Warnings = told.Warnings,
            Dependability = ToMessage(told.Dependability),
            NotRunning = Duration.FromTimeSpan(told.NotRunning),
            NotKnown = Duration.FromTimeSpan(told.NotKnown),
            Undated = Duration.FromTimeSpan(told.Undated),
            UndatedRecords = told.UndatedRecords,
            Alarms = ToMessage(told.Alarms),
        };
        message.FaultsByCount.AddRange(told.CodesByCount.Select(line => ToMessage(line, ApiErrors.ReasonOf)));
        message.FaultsByDownTime.AddRange(told.CodesByDownTime.Select(line => ToMessage(line, ApiErrors.ReasonOf)));
        message.AxesByCount.AddRange(told.AxesByCount.Select(line => ToMessage(line, name => name)));
        message.AxesByDownTime.AddRange(told.AxesByDownTime.Select(line => ToMessage(line, name => name)));
        message.Stops.AddRange(told.Stops.Select(ToMessage));
        return message;
    }

    private static Api.V1.Dependability ToMessage(History.Statistics.Dependability told)
    {
        var message = new Api.V1.Dependability
        {
            Up = Duration.FromTimeSpan(told.Up),
            Down = Duration.FromTimeSpan(told.Down),
            Failures = told.Failures,
            Repairs = told.Repairs,
            IsDown = told.IsDown,
            MeanTimeBetweenFailures = told.BetweenFailures is { } between ? Duration.FromTimeSpan(between) : null,
            MeanTimeToRepair = told.ToRepair is { } repair ? Duration.FromTimeSpan(repair) : null,
        };
        if (told.Availability is { } availability)
        {
            message.Availability = availability;
        }

        if (told.UpShare is { } share)
        {
            message.UpShare = share;
        }

        return message;
    }

    private static ParetoLine ToMessage<T>(ParetoLine<T> line, Func<T, string> name) =>
        new() { Name = name(line.Key), Value = line.Value, Share = line.Share, CumulativeShare = line.Cumulative };

    private static Api.V1.AlarmStatistics ToMessage(History.Statistics.AlarmStatistics told)
    {
        var message = new Api.V1.AlarmStatistics
        {
            Alarms = told.Alarms,
            Peak = told.Peak,
            PeakAt = told.PeakAt is { } at ? Timestamp.FromDateTimeOffset(at) : null,
            Floods = told.Floods,
            FloodTime = Duration.FromTimeSpan(told.FloodTime),
        };
        if (told.PerTenMinutes is { } rate)
        {
            message.PerTenMinutes = rate;
        }

        message.Chattering.AddRange(told.Chattering.Select(
            each => new Api.V1.ChatteringAlarm { Fault = ApiErrors.ReasonOf(each.Code), Source = each.Source, Count = each.Count, WorstMinute = each.WorstMinute }));
        message.Stale.AddRange(told.Stale.Select(
            each => new Api.V1.StaleAlarm { Fault = ApiErrors.ReasonOf(each.Code), Axis = each.Axis, Longest = Duration.FromTimeSpan(each.Longest) }));
        return message;
    }

    private static Api.V1.StopGroup ToMessage(History.Statistics.StopGroup group) => new()
    {
        Axis = group.Axis,
        Unit = group.Unit,
        Category = group.Category,
        Slowest = group.Slowest,
        Fastest = group.Fastest,
        Count = group.Count,
        First = ToMessage(group.First),
        Last = ToMessage(group.Last),
        MeanTimeMs = group.MeanTime.TotalMilliseconds,
        MeanDistance = group.MeanDistance,
    };

    private static Api.V1.StopMeasure ToMessage(History.Statistics.StopMeasure stop) => new()
    {
        Sequence = stop.Sequence, Time = Timestamp.FromDateTimeOffset(stop.Utc), TimeMs = stop.Time.TotalMilliseconds, Distance = stop.Distance,
    };
}
