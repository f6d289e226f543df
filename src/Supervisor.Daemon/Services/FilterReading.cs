using Google.Protobuf.WellKnownTypes;
using Supervisor.Api.V1;
using Supervisor.Configuration.Machines;
using Supervisor.History.Reading;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Services;

/// <summary>The filter of a request as the history's.</summary>
internal static class FilterReading
{
    private const int LongestText = 200;

    /// <exception cref="Grpc.Core.RpcException">A member says nothing that there is; it names which.</exception>
    public static HistoryFilter Read(RecordFilter? filter)
    {
        if (filter is null)
        {
            return new HistoryFilter();
        }

        if (filter.Incident < 0)
        {
            throw ApiErrors.Refuse(Refusal.InvalidArgument, "incident can't be negative; 0 means any", "filter.incident");
        }

        if (filter.Text.Length > LongestText)
        {
            throw ApiErrors.Refuse(Refusal.InvalidArgument, $"text may have at most {LongestText} characters", "filter.text");
        }

        return new HistoryFilter
        {
            Kinds = [.. filter.Kinds.Select(KindOf).Distinct()],
            Axis = filter.Axis.Length > 0 ? filter.Axis : null,
            Code = filter.Fault.Length > 0 ? CodeOf(filter.Fault) : null,
            Class = filter.FaultClass.Length > 0 ? ClassOf(filter.FaultClass) : null,
            Incident = filter.Incident > 0 ? filter.Incident : null,
            Text = filter.Text.Length > 0 ? filter.Text : null,
            Since = TimeOf(filter.Since, "filter.since"),
            Until = TimeOf(filter.Until, "filter.until"),
        };
    }

    /// <summary>A time of a request; null where none is given.</summary>
    /// <exception cref="Grpc.Core.RpcException">It is outside of what a Timestamp may hold: years 1 to 9999, 0 to 999,999,999 ns (google/protobuf/timestamp.proto).</exception>
    public static DateTimeOffset? TimeOf(Timestamp? time, string field)
    {
        try
        {
            return time?.ToDateTimeOffset();
        }
        catch (InvalidOperationException)
        {
            throw ApiErrors.Refuse(Refusal.InvalidArgument, $"{field} is no time: seconds must lie in the years 1 to 9999, nanos be 0 to 999999999", field);
        }
    }

    /// <summary>An axis of an earlier machine file has records; a slip of the pen has not.</summary>
    /// <exception cref="Grpc.Core.RpcException">Nothing was found, and the machine has no such axis.</exception>
    public static void RefuseUnknownAxis(MachineDefinition machine, string axis, bool found, string field)
    {
        if (!found && axis.Length > 0 && machine.AxisIndex(axis) < 0)
        {
            throw ApiErrors.Refuse(Refusal.UnknownAxis, machine.DescribeUnknownAxis(axis), field);
        }
    }

    private static History.Entries.RecordKind KindOf(RecordKind kind) => kind != RecordKind.Unspecified && System.Enum.IsDefined(kind)
        ? (History.Entries.RecordKind)kind
        : throw ApiErrors.Refuse(Refusal.InvalidArgument, $"there is no kind of records with the number {(int)kind}", "filter.kinds");

    private static FaultCode CodeOf(string reason)
    {
        foreach (var entry in FaultCatalogue.Entries)
        {
            if (entry.Code != FaultCode.None && string.Equals(ApiErrors.ReasonOf(entry.Code), reason, StringComparison.OrdinalIgnoreCase))
            {
                return entry.Code;
            }
        }

        throw ApiErrors.Refuse(Refusal.InvalidArgument, $"there is no fault '{reason}'; `faults --catalogue --json` lists them", "filter.fault");
    }

    private static FaultClass ClassOf(string word)
    {
        foreach (var known in System.Enum.GetValues<FaultClass>())
        {
            if (known != FaultClass.None && RecordMapping.WordOf(known) == word)
            {
                return known;
            }
        }

        var classes = string.Join(", ", System.Enum.GetValues<FaultClass>().Where(known => known != FaultClass.None).Select(RecordMapping.WordOf));
        throw ApiErrors.Refuse(Refusal.InvalidArgument, $"there is no class of faults '{word}'; there are {classes}", "filter.fault_class");
    }
}
