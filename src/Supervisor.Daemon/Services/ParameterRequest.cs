using Supervisor.Api.V1;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Machine.Watching;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Contact;
using Supervisor.Runtime.Parameters;

namespace Supervisor.Daemon.Services;

/// <summary>Reads a request to write parameters as a job; nothing of one that has an error is written.</summary>
internal static class ParameterRequest
{
    public static ParameterJob Read(AxisDefinition axis, WriteParametersRequest request)
    {
        var entries = new List<ParameterEntry>();
        for (var i = 0; i < request.Values.Count; i++)
        {
            var entry = Read(axis, request.Values[i], $"values[{i}]");
            if (entries.Any(earlier => earlier.Index == entry.Index))
            {
                throw Refuse($"{request.Values[i].Name} is named twice", $"values[{i}].name");
            }

            entries.Add(entry);
        }

        return new ParameterJob(entries, writes: true) { Saves = axis.Drive.SaveParameters is not null, ExpectedSerial = Serial(axis, request) };
    }

    private static ParameterEntry Read(AxisDefinition axis, ParameterValue asked, string at)
    {
        if (axis.Drive.Parameter(asked.Name) is not { } field)
        {
            throw Refuse($"drive {axis.Drive.Name} declares no parameter {asked.Name}", $"{at}.name");
        }

        if (field.Access == RegisterAccess.Read)
        {
            throw Refuse($"{field.Name} can only be read", $"{at}.name");
        }

        if (FirstContact.SetByMembers(axis).Any(set => set.Name == field.Name))
        {
            throw Refuse($"{field.Name} is set by another member of the machine file: change it there", $"{at}.name");
        }

        if (!field.TryRaw(asked.Value, out var raw))
        {
            var (least, most) = field.Range;
            throw Refuse(
                $"{field.Name} can't hold {ParameterTexts.Value(field, asked.Value)}: it counts from {ParameterTexts.Value(field, least * field.Scale)} to "
                + $"{ParameterTexts.Value(field, most * field.Scale)} in steps of {ParameterTexts.Value(field, field.Scale)}",
                $"{at}.value");
        }

        if (axis.Parameters.FirstOrDefault(parameter => parameter.Field.Name == field.Name) is { } @fixed
            && @fixed.OnDifference != DifferenceAction.Warn && (!field.TryRaw(@fixed.Value, out var wanted) || wanted != raw))
        {
            throw Refuse($"{field.Name} is fixed by the machine file at {ParameterTexts.Value(field, @fixed.Value)}: change it there", $"{at}.value");
        }

        return new ParameterEntry((short)axis.Drive.Parameters.ToList().IndexOf(field), raw);
    }

    private static uint? Serial(AxisDefinition axis, WriteParametersRequest request)
    {
        if (!request.HasSerialNumber)
        {
            return null;
        }

        return axis.Drive.Parameter(FieldNames.SerialNumber) is { } field && field.TryRaw(request.SerialNumber, out var raw)
            ? raw
            : throw Refuse("this drive has no such serial number", "serial_number");
    }

    private static Grpc.Core.RpcException Refuse(string message, string field) => ApiErrors.Refuse(Refusal.InvalidArgument, message, field);
}
