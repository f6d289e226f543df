using Google.Protobuf.Collections;
using Google.Protobuf.WellKnownTypes;
using Supervisor.Api.V1;
using Supervisor.Configuration.Machines;
using Supervisor.Machine.Alarms;
using Supervisor.Machine.Api;
using Supervisor.Records.Alarms;
using Supervisor.Records.Commands;
using AlarmChoice = Supervisor.Api.V1.AlarmChoice;
using AlarmKey = Supervisor.Records.Alarms.AlarmKey;
using AlarmSourceKind = Supervisor.Api.V1.AlarmSourceKind;
using AlarmStatus = Supervisor.Machine.Api.AlarmStatus;
using MachineChoice = Supervisor.Machine.Api.AlarmChoice;
using StoredKind = Supervisor.Records.Alarms.AlarmSourceKind;

namespace Supervisor.Daemon.Services;

/// <summary>Requests about alarms as commands.</summary>
internal sealed class AlarmReading(MachineDefinition machine)
{
    private const int MostChoices = 1_000;
    private const int LongestReason = 200;
    private static readonly TimeSpan Shortest = TimeSpan.FromMinutes(1);
    private readonly AlarmNames _names = new(machine);

    public AcknowledgeCommand Acknowledge(AcknowledgeAlarmsRequest request)
    {
        var by = CommandReading.Who(request.RequestedBy);
        if (request.All == (request.Alarms.Count > 0))
        {
            throw ApiErrors.Refuse(
                Refusal.InvalidArgument, request.All ? "all means every alarm: give no choices with it" : "name alarms, or set all to mean every one", request.All ? "all" : "alarms");
        }

        RefuseMany(request.Alarms.Count);
        return new AcknowledgeCommand([.. request.Alarms.SelectMany(Choice)], by);
    }

    public OutOfServiceCommand TakeOut(TakeAlarmsOutOfServiceRequest request)
    {
        var by = CommandReading.Who(request.RequestedBy);
        var reason = CommandReading.Plain(request.Reason);
        if (reason.Length is 0 or > LongestReason)
        {
            throw ApiErrors.Refuse(Refusal.InvalidArgument, $"reason must have 1 to {LongestReason} characters: it tells whoever finds the alarm out of service why", "reason");
        }

        if (Time(request.For) is not { } time || time < Shortest)
        {
            throw ApiErrors.Refuse(Refusal.InvalidArgument, $"for must be {Shortest.TotalMinutes:0} min or more", "for");
        }

        return new OutOfServiceCommand(Keys(request.Alarms), time, reason, by);
    }

    public BackInServiceCommand PutBack(PutAlarmsBackInServiceRequest request)
    {
        var by = CommandReading.Who(request.RequestedBy);
        return new BackInServiceCommand(Keys(request.Alarms), by);
    }

    public static bool Fits(AlarmStatus alarm, ListAlarmsRequest request, MachineDefinition machine) =>
        (!request.Unacknowledged || alarm.State.IsUnacknowledged())
        && (request.Axis.Length == 0 || alarm.Key.Source == AlarmSource.Axis(machine.AxisIndex(request.Axis)));

    /// <summary>Where an alarm is in the list's order: by what it is about, then by number. Above 0.</summary>
    public static long Place(AlarmStatus alarm) =>
        ((long)alarm.Key.Source.Kind << 40) | ((long)(alarm.Key.Source.Index + 1) << 20) | (uint)(alarm.Key.Number + 1);

    private IReadOnlyList<AlarmKey> Keys(RepeatedField<Api.V1.AlarmKey> asked)
    {
        if (asked.Count == 0)
        {
            throw ApiErrors.Refuse(Refusal.InvalidArgument, "name each alarm by number and source", "alarms");
        }

        RefuseMany(asked.Count);
        return [.. asked.Select(each => new AlarmKey(Number(each.Number), Source(each.SourceKind, each.Source))).Distinct()];
    }

    private IEnumerable<MachineChoice> Choice(AlarmChoice asked)
    {
        int? number = asked.Number == 0 ? null : Number(asked.Number);
        if (asked.SeenOccurrence != 0 && (number is null || asked.SourceKind == AlarmSourceKind.Unspecified))
        {
            throw ApiErrors.Refuse(Refusal.InvalidArgument, "seen_occurrence is of one alarm: give its number, source_kind and source", "alarms.seen_occurrence");
        }

        if (asked.SourceKind != AlarmSourceKind.Unspecified)
        {
            return [new MachineChoice(number, Source(asked.SourceKind, asked.Source), asked.SeenOccurrence == 0 ? null : asked.SeenOccurrence)];
        }

        if (asked.Source.Length > 0)
        {
            // Several things may have the name: what is listed of any of them is meant.
            var sources = _names.Find(asked.Source).ToArray();
            return sources.Length > 0 ? sources.Select(source => new MachineChoice(number, source)) : throw Unknown(asked.Source);
        }

        return number is not null
            ? [new MachineChoice(number, null)]
            : throw ApiErrors.Refuse(Refusal.InvalidArgument, "a choice names a number, a source or both", "alarms");
    }

    private AlarmSource Source(AlarmSourceKind kind, string name)
    {
        if (kind == AlarmSourceKind.Unspecified)
        {
            var sources = name.Length == 0 ? [AlarmSource.Machine] : _names.Find(name).ToArray();
            return sources switch
            {
                [var only] => only,
                [] => throw Unknown(name),
                _ => throw ApiErrors.Refuse(Refusal.InvalidArgument, $"several things are named '{name}': say by source_kind which is meant", "alarms.source_kind"),
            };
        }

        if (!System.Enum.IsDefined(kind))
        {
            throw ApiErrors.Refuse(Refusal.InvalidArgument, $"there is no source_kind {(int)kind}", "alarms.source_kind");
        }

        return _names.Find((StoredKind)(kind - 1), name) ?? throw Unknown(name);
    }

    private static int Number(int number) => number is > 0 and <= AlarmKey.LastOwn
        ? number
        : throw ApiErrors.Refuse(Refusal.InvalidArgument, $"an alarm's number is 1 to {AlarmKey.LastOwn}", "alarms.number");

    private static void RefuseMany(int count)
    {
        if (count > MostChoices)
        {
            throw ApiErrors.Refuse(Refusal.InvalidArgument, $"at most {MostChoices} alarms at a time", "alarms");
        }
    }

    private static Grpc.Core.RpcException Unknown(string name) =>
        ApiErrors.Refuse(Refusal.UnknownAlarm, $"the machine has nothing named '{name}' that alarms could be about", "alarms.source");

    private static TimeSpan? Time(Duration? duration)
    {
        try
        {
            return duration?.ToTimeSpan();
        }
        catch (InvalidOperationException)
        {
            // Not a normalised duration.
            return null;
        }
    }
}
