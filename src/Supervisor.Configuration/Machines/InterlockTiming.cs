using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads an interlock's times.</summary>
/// <remarks>Left out: no discrepancy time, no trip delay; stale after five cycles of the slowest port that carries an input, at least 100 ms.</remarks>
internal sealed class InterlockTiming(ObjectReader interlock, IReadOnlyList<PortDraft> ports, IReadOnlyList<AxisDraft> axes)
{
    private const double LongestMs = 60_000;
    private const double LeastDefaultStaleMs = 100;
    private const int DefaultStaleCycles = 5;
    private const int LeastCycles = 2;

    /// <summary>Longest time two channels may differ.</summary>
    public TimeSpan? ReadDiscrepancy(IReadOnlyList<InputReference> inputs)
    {
        if (interlock.Find("discrepancyMs") is null)
        {
            return null;
        }

        var discrepancyMs = interlock.Number("discrepancyMs", NumberRange.Above0(Milliseconds.Unit, LongestMs), double.NaN);
        var count = interlock.Find("inputs") is { Kind: NodeKind.Array } list ? list.Items.Count : 2;
        if (count != 2)
        {
            interlock.Refuse("discrepancyMs", $"compares two channels, but there {(count == 1 ? "is 1 input" : $"are {count} inputs")}; take it out or name both");
        }

        var cycleMs = SlowestCycleMs(inputs);
        var areReadApart = inputs.Select(input => input.Axis).Distinct().Count() > 1;
        if (areReadApart && discrepancyMs < LeastCycles * cycleMs)
        {
            interlock.Refuse(
                "discrepancyMs",
                $"{Show.Number(discrepancyMs)} ms is too short for channels on two drives, which are read up to a cycle apart; at least {LeastCycles} cycles, {Show.Number(LeastCycles * cycleMs)} ms");
        }

        return Milliseconds.ToTime(discrepancyMs);
    }

    /// <summary>How long an input must be open before it counts.</summary>
    public TimeSpan ReadTripDelay(InterlockKind? kind)
    {
        var delayMs = interlock.Number("tripDelayMs", new NumberRange(0, LongestMs, Milliseconds.Unit), fallback: 0);
        if (delayMs > 0 && kind is InterlockKind.EmergencyStop or InterlockKind.Guard)
        {
            interlock.Refuse("tripDelayMs", "emergency stops and guards act at once; take the delay out");
        }

        return Milliseconds.ToTime(delayMs);
    }

    /// <summary>Age from which an input's last value counts as open.</summary>
    public TimeSpan ReadStaleAfter(IReadOnlyList<InputReference> inputs)
    {
        var cycleMs = SlowestCycleMs(inputs);
        var staleMs = interlock.Number(
            "staleMs", NumberRange.Above0(Milliseconds.Unit, LongestMs), Math.Max(DefaultStaleCycles * cycleMs, LeastDefaultStaleMs));
        if (staleMs < LeastCycles * cycleMs)
        {
            interlock.Refuse(
                "staleMs",
                $"{Show.Number(staleMs)} ms is too short: the inputs are read every {Show.Number(cycleMs)} ms; at least {LeastCycles} cycles, {Show.Number(LeastCycles * cycleMs)} ms");
        }

        return Milliseconds.ToTime(staleMs);
    }

    /// <summary>Cycle of the slowest port that carries one of the inputs; 0 without such a port.</summary>
    private double SlowestCycleMs(IReadOnlyList<InputReference> inputs) =>
        inputs.Where(input => input.Axis >= 0)
            .Select(input => axes[input.Axis].Definition?.Port ?? -1)
            .Where(port => port >= 0)
            .Select(port => ports[port].CycleMs)
            .Where(double.IsFinite)
            .DefaultIfEmpty(0)
            .Max();
}
