using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Commands;
using Supervisor.Machine.Planning;
using Supervisor.Records;
using Supervisor.Records.Alarms;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Alarms;

/// <summary>
/// Commands about alarms: each is done as a whole or refused as a whole. They are answered at the end of the step, once what they did is published. A refused
/// one is kept by the history as a command; what one did is kept alarm by alarm.
/// </summary>
internal sealed class AlarmCommands(AlarmDesk desk, MachineDefinition machine, CommandAnswers answers)
{
    private readonly AlarmNames _names = new(machine);
    private readonly List<(PendingCommand Pending, CommandAnswer Answer)> _done = [];
    private readonly List<Alarm> _chosen = [];

    public void Begin(PendingCommand pending, AlarmCommand command)
    {
        var said = "";
        var objection = command switch
        {
            AcknowledgeCommand acknowledge => Acknowledge(acknowledge, out said),
            OutOfServiceCommand take => TakeOut(take, out said),
            BackInServiceCommand back => PutBack(back, out said),
            _ => throw new ArgumentException($"There is no alarm command of type {command.GetType().Name}.", nameof(command)),
        };
        if (objection is not null)
        {
            answers.Refuse(pending, objection);
            return;
        }

        desk.IsAwaited = true;
        _done.Add((pending, new CommandAnswer(pending.Id, Outcome.Done, Refusal.None, FaultCode.None, -1, said, null)));
    }

    /// <summary>Ends what was done in this step: after <see cref="AlarmDesk.End"/>.</summary>
    public void End()
    {
        foreach (var (pending, answer) in _done)
        {
            answers.End(pending, answer);
        }

        _done.Clear();
    }

    private Objection? Acknowledge(AcknowledgeCommand command, out string said)
    {
        said = "";
        _chosen.Clear();
        foreach (var choice in command.Alarms.Count > 0 ? command.Alarms : [default])
        {
            if (Choose(choice, isAll: command.Alarms.Count == 0) is { } objection)
            {
                return objection;
            }
        }

        var count = _chosen.Count(alarm => desk.Acknowledge(alarm, command.By));
        said = count > 0 ? $"{Counted.Of(count, "alarm")} acknowledged" : "nothing was to be acknowledged any more";
        return null;
    }

    private Objection? Choose(AlarmChoice choice, bool isAll)
    {
        Alarm? shelved = null;
        var found = false;
        foreach (var alarm in desk.Kept)
        {
            if (alarm.State == AlarmState.Normal || (choice.Number is { } number && number != alarm.Key.Number) || (choice.Source is { } source && source != alarm.Key.Source))
            {
                continue;
            }

            if (alarm.State.IsShelved())
            {
                shelved = alarm;
                continue;
            }

            if (choice.Seen is { } seen && seen != alarm.Occurrence)
            {
                return new Objection(Refusal.AlarmChanged, -1, $"{_names.Describe(alarm.Key)} has occurred again since it was seen: look at it, then acknowledge it");
            }

            found = true;
            _chosen.Add(alarm);
        }

        return found || isAll ? null
            : shelved is not null ? new Objection(Refusal.AlarmOutOfService, -1, $"{_names.Describe(shelved.Key)} is out of service, so nobody is asked: put it back into service first")
            : new Objection(Refusal.UnknownAlarm, -1, $"no alarm is listed as {Describe(choice)}: it has ended and was acknowledged, or never was");
    }

    private Objection? TakeOut(OutOfServiceCommand command, out string said)
    {
        said = "";
        foreach (var key in command.Alarms)
        {
            if (ObjectionToTaking(key, command.For) is { } objection)
            {
                return objection;
            }
        }

        if (desk.Kept.Count(alarm => alarm.State.IsShelved()) + command.Alarms.Count(key => desk.Find(key)?.State.IsShelved() != true) > AlarmRules.MostOutOfService)
        {
            return new Objection(Refusal.MailboxFull, -1, $"{AlarmRules.MostOutOfService} alarms can be out of service at a time: put others back first");
        }

        foreach (var key in command.Alarms)
        {
            desk.TakeOut(key, PriorityOf(key)!.Value, command.For, command.Reason, command.By);
        }

        said = $"{Counted.Of(command.Alarms.Count, "alarm")} out of service for {Sentences.Number(command.For.TotalMinutes)} min";
        return null;
    }

    private Objection? ObjectionToTaking(AlarmKey key, TimeSpan time)
    {
        if (PriorityOf(key) is not { } priority)
        {
            return new Objection(Refusal.UnknownAlarm, -1, $"there is no alarm {key.Number}: the fault catalogue and the machine file have none of this number");
        }

        var isHigh = priority == FaultPriority.High;
        var most = isHigh && AlarmRules.LongestHigh < machine.OutOfService.Longest ? AlarmRules.LongestHigh : machine.OutOfService.Longest;
        if (time > most)
        {
            return new Objection(Refusal.OutOfServiceTooLong, -1,
                $"{_names.Describe(key)} can be out of service for {Sentences.Number(most.TotalMinutes)} min at most{(isHigh ? ", as it tells of what may hurt someone" : "")}: give a shorter time");
        }

        return isHigh && desk.Find(key)?.State.IsShelved() == true
            ? new Objection(Refusal.AlarmOutOfService, -1, $"{_names.Describe(key)} is out of service already and tells of what may hurt someone: put it back and look at it before you take it out again")
            : null;
    }

    private Objection? PutBack(BackInServiceCommand command, out string said)
    {
        said = "";
        foreach (var key in command.Alarms)
        {
            if (desk.Find(key)?.State.IsShelved() != true)
            {
                return new Objection(Refusal.AlarmInService, -1, $"{_names.Describe(key)} is in service: nothing is to put back");
            }
        }

        foreach (var key in command.Alarms)
        {
            desk.PutBack(desk.Find(key)!, command.By);
        }

        said = $"{Counted.Of(command.Alarms.Count, "alarm")} back in service";
        return null;
    }

    /// <summary>How urgent an alarm is; null for a number that there is not.</summary>
    private FaultPriority? PriorityOf(AlarmKey key) =>
        key.IsOwn ? machine.OwnAlarm(key.Number)?.Priority
        : key.Number > 0 && Enum.IsDefined((FaultCode)key.Number) ? FaultCatalogue.Entry((FaultCode)key.Number).Priority
        : null;

    private string Describe(AlarmChoice choice) => (choice.Number, choice.Source) switch
    {
        ({ } number, { } source) => _names.Describe(new AlarmKey(number, source)),
        ({ } number, null) => number.ToString(System.Globalization.CultureInfo.InvariantCulture),
        (null, { } source) => _names.Of(source) is { Length: > 0 } name ? $"one of {name}" : "one of the machine",
        _ => "any",
    };
}
