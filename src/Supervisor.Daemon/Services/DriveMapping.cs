using Supervisor.Api.V1;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Watching;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Contact;
using Supervisor.Runtime.Parameters;

namespace Supervisor.Daemon.Services;

/// <summary>Parameters as messages.</summary>
internal static class DriveMapping
{
    public static GetDriveResponse Describe(MachineControl control, int axis)
    {
        var definition = control.Machine.Axes[axis];
        var response = new GetDriveResponse { Definition = definition.Drive.Name };
        var setByMembers = FirstContact.SetByMembers(definition).Select(set => set.Name).ToHashSet();
        for (var i = 0; i < definition.Drive.Parameters.Count; i++)
        {
            var field = definition.Drive.Parameters[i];
            var known = control.Parameter(axis, i);
            var message = new DriveParameter
            {
                Name = field.Name,
                Unit = field.Unit ?? "",
                Readable = field.Access != RegisterAccess.Write,
                Writable = field.Access != RegisterAccess.Read,
                Stored = field.Stored,
                SetByMachineFile = setByMembers.Contains(field.Name),
                Writes = known.Writes,
                Difference = known.Measure == ParameterMeasure.None ? "" : ParameterTexts.Of(known.Measure),
                BlocksAxis = ParameterTexts.IsStanding(known.Measure),
            };
            if (definition.Parameters.FirstOrDefault(parameter => parameter.Field.Name == field.Name) is { } wanted)
            {
                message.FixedValue = wanted.Value;
                message.OnDifference = Word(wanted.OnDifference);
            }

            if (known.IsKnown)
            {
                message.Value = ValueOf(field, known.Raw);
            }

            response.Parameters.Add(message);
        }

        return response;
    }

    public static ParameterReading Reading(RegisterField field, in ParameterResult result)
    {
        var reading = new ParameterReading { Name = field.Name, ExceptionCode = result.ExceptionCode };
        if (result.Outcome == ParameterOutcome.Read)
        {
            reading.Value = ValueOf(field, result.After);
        }

        return reading;
    }

    public static ParameterWritten Written(RegisterField field, in ParameterResult result)
    {
        var message = new ParameterWritten { Name = field.Name, Outcome = ToMessage(result.Outcome), ExceptionCode = result.ExceptionCode };
        var wasRead = field.Access != RegisterAccess.Write && result.Outcome is not (ParameterOutcome.Pending or ParameterOutcome.Rejected);
        if (wasRead)
        {
            message.Before = ValueOf(field, result.Before);
        }

        if (wasRead && result.Outcome != ParameterOutcome.Unknown)
        {
            message.After = ValueOf(field, result.After);
        }

        return message;
    }

    public static WriteEnded End(AxisDefinition axis, ParameterJob job)
    {
        var outcomes = Enumerable.Range(0, job.Entries.Count).Select(i => job.Result(i).Outcome).ToArray();
        var failed = Enumerable.Range(0, outcomes.Length)
            .Where(i => outcomes[i] is ParameterOutcome.NotTaken or ParameterOutcome.Rejected).Select(i => axis.Drive.Parameters[job.Entries[i].Index].Name).ToArray();
        var written = outcomes.Count(outcome => outcome is ParameterOutcome.Written or ParameterOutcome.WrittenUnread);
        return new WriteEnded
        {
            Complete = job.State == ParameterJobState.Done && failed.Length == 0 && job.Save is not (ParameterOutcome.Rejected or ParameterOutcome.Unknown),
            Saved = job.Save == ParameterOutcome.WrittenUnread,
            Message = Sentence(axis.Name, job, written, outcomes, failed),
        };
    }

    private static string Sentence(string axis, ParameterJob job, int written, ParameterOutcome[] outcomes, string[] failed)
    {
        if (job.State != ParameterJobState.Done)
        {
            var unknown = outcomes.Count(outcome => outcome == ParameterOutcome.Unknown);
            var pending = outcomes.Count(outcome => outcome == ParameterOutcome.Pending);
            var why = job.State == ParameterJobState.Taken ? "the supervisor ended" : "the drive was lost";
            return $"{axis}: {why} while its set was loaded: {written} written, {unknown} perhaps written, {pending} not sent; load the set again before the axis is used";
        }

        return failed.Length > 0 ? $"{axis}: {written} written, but the drive did not take {string.Join(", ", failed)}"
            : job.Save == ParameterOutcome.Rejected ? $"{axis}: {written} written, but the drive refused to save them: it forgets them without supply"
            : job.Save == ParameterOutcome.Unknown ? $"{axis}: {written} written, but the drive did not say whether it saved them: switch it off and on, then compare"
            : written == 0 && job.Save == ParameterOutcome.WrittenUnread ? $"{axis}: the drive has every value already; nothing was written, and it saved what it has"
            : written == 0 ? $"{axis}: the drive has every value already; nothing was written"
            : $"{axis}: {written} written and read back{(job.Save == ParameterOutcome.WrittenUnread ? ", saved in the drive" : "")}";
    }

    public static string Word(DifferenceAction action) => action switch
    {
        DifferenceAction.Refuse => "refuse",
        DifferenceAction.Warn => "warn",
        _ => "write",
    };

    private static double ValueOf(RegisterField field, uint raw) => ParameterTexts.Tidy(field.ValueOf(raw));

    private static WriteOutcome ToMessage(ParameterOutcome outcome) => outcome switch
    {
        ParameterOutcome.AsWanted => WriteOutcome.Unchanged,
        ParameterOutcome.Written => WriteOutcome.Written,
        ParameterOutcome.WrittenUnread => WriteOutcome.WrittenUnread,
        ParameterOutcome.NotTaken => WriteOutcome.NotTaken,
        ParameterOutcome.Rejected => WriteOutcome.Rejected,
        ParameterOutcome.Unknown => WriteOutcome.Unknown,
        ParameterOutcome.Pending => WriteOutcome.NotSent,
        _ => WriteOutcome.Unspecified,
    };
}
