using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads an interlock's times.</summary>
/// <remarks>Left out: no discrepancy time, no trip delay.</remarks>
internal sealed class InterlockTiming(ObjectReader interlock, InputAge age)
{
    private const double LongestMs = 60_000;
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

        var cycleMs = age.SlowestCycleMs(inputs);
        var areReadApart = inputs.Select(input => (input.Axis, input.Module?.Module)).Distinct().Count() > 1;
        if (areReadApart && discrepancyMs < LeastCycles * cycleMs)
        {
            interlock.Refuse(
                "discrepancyMs",
                $"{Show.Number(discrepancyMs)} ms is too short for channels on two devices, which are read up to a cycle apart; at least {LeastCycles} cycles, {Show.Number(LeastCycles * cycleMs)} ms");
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
    public TimeSpan ReadStaleAfter(IReadOnlyList<InputReference> inputs) => age.Read(interlock, inputs);

    /// <summary>
    /// Time after which the safety relay takes the drives' power by itself. Whether the stop is over by then is checked with the line's budget.
    /// </summary>
    public TimeSpan? ReadOffDelay(InterlockKind? kind)
    {
        if (interlock.Find("offDelayMs") is null)
        {
            return null;
        }

        var delayMs = interlock.Number("offDelayMs", NumberRange.Above0(Milliseconds.Unit, LongestMs), double.NaN);
        if (kind == InterlockKind.Process)
        {
            interlock.Refuse("offDelayMs", "is the delay of a safety relay, which a process condition has not; take it out");
        }

        return Milliseconds.ToTime(delayMs);
    }
}
