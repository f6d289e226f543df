using Supervisor.Daemon.Verbs;
using Supervisor.History.Entries;
using Supervisor.History.Reading;
using Supervisor.Machine.Api;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Demo;

/// <summary>Counts what the history of this run holds.</summary>
internal static class DemoCount
{
    public static DemoJson Count(HistoryReader reader, IReadOnlyList<PortStatus> ports, int cycles, TimeSpan duration)
    {
        var records = Everything(reader).ToArray();
        var exchanges = ports.Sum(port => port.Exchanges);
        return new DemoJson(
            cycles,
            records.Count(record => record is InterlockRecord { Change: InterlockChange.Tripped }),
            records.Count(record => record is FaultRecord { Class: not FaultClass.Warning }),
            records.Count(record => record is RecoveryRecord { Step: RecoveryStep.Succeeded }),
            records.Count(record => record is CommandRecord { Outcome: Outcome.Refused }),
            exchanges,
            ports.Sum(port => port.Errors),
            new PercentilesJson(Math.Round(Weighted(ports, exchanges), 2), Math.Round(ports.Max(port => port.ExchangeP99Ms), 2)),
            Math.Round(duration.TotalSeconds, 1));
    }

    /// <summary>Ports have medians of their own; each counts by its exchanges.</summary>
    private static double Weighted(IReadOnlyList<PortStatus> ports, long exchanges) =>
        exchanges == 0 ? 0 : ports.Sum(port => port.ExchangeP50Ms * port.Exchanges) / exchanges;

    private static IEnumerable<HistoryRecord> Everything(HistoryReader reader)
    {
        long? before = null;
        do
        {
            var page = reader.Query(new HistoryFilter { BeforeSequence = before, Limit = HistoryFilter.MaximumLimit });
            foreach (var stored in page.Records)
            {
                yield return stored.Record;
            }

            before = page.NextBefore;
        }
        while (before is not null);
    }
}
