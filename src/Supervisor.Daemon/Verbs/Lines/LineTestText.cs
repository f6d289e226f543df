using System.Globalization;

namespace Supervisor.Daemon.Verbs.Lines;

/// <summary>What a line test measured, and what it means.</summary>
internal static class LineTestText
{
    // Common practice for a line that moves axes; no source.
    private const double GoodShare = 1e-4;
    private const double BadShare = 1e-2;

    public static void Print(LineTestPlan plan, LineTest test, TextWriter to)
    {
        var counts = test.Counts;
        if (test.Way == LineTestWay.None)
        {
            return;
        }

        to.WriteLine(test.Way == LineTestWay.Echo
            ? $"{counts.Exchanges} echoes of address {plan.Address} on {plan.Device}, {LineOptions.Text(plan.Line)}, seed {plan.Seed}; nothing was written"
            : $"address {plan.Address} does not echo: {test.WhyNoEcho}; register {plan.Register} was read {counts.Exchanges} times instead{Refused(test)}; nothing was written");
        to.WriteLine($"  good {counts.Good}, late {counts.Late}, lost {counts.Lost}, bad check sum {counts.BadCrc}, broken {counts.Broken}, wrong echo {counts.WrongEcho}, refused {counts.Refused}");
        if (counts.Time(0.5) is { } median)
        {
            to.WriteLine($"  round trip {Ms(median)} ms median, {Ms(counts.Time(0.99)!.Value)} ms at the 99th percentile, {Ms(counts.Time(1)!.Value)} ms at most; the wire alone takes {Ms(Wire(plan, test))} ms");
        }

        if (Rates(plan, test) is { } rates)
        {
            to.WriteLine($"  bit errors: {Rate(rates.Estimate)} estimated, not above {Rate(rates.UpperBound)} with 95 % confidence, as if they came singly");
        }

        foreach (var (pattern, spoilt) in test.SpoiltPatterns.Where(each => test.Way == LineTestWay.Echo && each.Value > 1).OrderByDescending(each => each.Value).Take(3))
        {
            to.WriteLine($"  pattern {pattern:X4}h was spoilt {spoilt} times");
        }

        to.WriteLine(Verdict(test));
        foreach (var line in WhatToDo(test))
        {
            to.WriteLine($"  {line}");
        }
    }

    public static LineTestJson ToJson(LineTestPlan plan, LineTest test, bool isInterrupted)
    {
        var counts = test.Counts;
        return new LineTestJson(
            plan.Device, plan.Address, plan.Line.Baud, LineOptions.Name(plan.Line.Parity), plan.Line.StopBits, plan.Timeout.TotalMilliseconds, plan.Seed,
            test.Way switch { LineTestWay.Echo => "echo", LineTestWay.Read => "read", _ => "none" }, test.WhyNoEcho, counts.Exchanges, counts.Good, counts.Late, counts.Lost,
            counts.BadCrc, counts.Broken, counts.WrongEcho, counts.Refused,
            counts.Time(0.5) is { } median ? new RoundTripJson(Rounded(median), Rounded(counts.Time(0.99)!.Value), Rounded(counts.Time(1)!.Value), Rounded(Wire(plan, test))) : null,
            Rates(plan, test) is { } rates ? new BitErrorsJson(rates.Estimate, rates.UpperBound, BitErrorRate.Confidence) : null,
            [.. test.SpoiltPatterns.Select(each => new SpoiltPatternJson($"{each.Key:X4}", each.Value))],
            IsGood(test), isInterrupted, test.Way == LineTestWay.None ? "" : Verdict(test), [.. WhatToDo(test)], test.Refusal);
    }

    /// <summary>True when the line may be left as it is.</summary>
    public static bool IsGood(LineTest test) => test.Refusal.Length == 0 && test.Counts is { Exchanges: > 0 } counts && Share(counts) <= GoodShare && counts.Refused == 0;

    private static string Verdict(LineTest test)
    {
        var counts = test.Counts;
        var share = counts.Exchanges == 0 ? 0 : Share(counts);
        return counts.Exchanges == 0 ? "nothing was measured"
            : counts.Refused > 0 ? $"not to be judged: {counts.Refused} of {counts.Exchanges} were refused"
            : share == 0 ? $"good: none of {counts.Exchanges} failed; at most 1 in {Math.Floor(1 / BitErrorRate.UpperShare(0, counts.Exchanges))} does, with 95 % confidence"
            : share <= GoodShare ? $"good enough: 1 in {Math.Round(1 / share)} fails, which retries cover"
            : share <= BadShare ? $"poor: 1 in {Math.Round(1 / share)} fails; retries may cover it, and it will not get better by itself"
            : $"bad: {Verbs.Text.Of(100 * share)} % fail; do not move axes on this line";
    }

    private static IEnumerable<string> WhatToDo(LineTest test)
    {
        var counts = test.Counts;
        if (counts.BadCrc + counts.Broken > 0)
        {
            yield return "damaged answers: check termination at both ends and nowhere else, bias, shield and ground, motor cables beside the line, and the baud rate";
        }

        if (counts.Lost > 0)
        {
            yield return "lost exchanges: a damaged request is not answered, so look for the same; else for a device that is busy, an adapter that turns the line too late, a second device with this address";
        }

        if (counts.WrongEcho > 0)
        {
            yield return "answers with other bytes and a good check sum: another master or a second device with this address speaks, or the device's program errs";
        }

        if (counts.Late > 0)
        {
            yield return "late answers: look at the adapter's latency timer (`diagnose`), then raise responseTimeoutMs or the definition's turnaroundMs";
        }

        if (counts.Refused > 0)
        {
            yield return "refusals: the device was busy or changed its mind; try again while it is idle";
        }
    }

    private static double Share(LineTestCounts counts) => (double)(counts.Spoilt + counts.Late) / counts.Exchanges;

    private static (double Estimate, double UpperBound)? Rates(LineTestPlan plan, LineTest test)
    {
        var counts = test.Counts;
        var bits = counts.Characters * plan.Line.BitsPerCharacter;
        return counts.Exchanges == 0 || bits == 0 ? null
            : (BitErrorRate.Estimate(counts.Spoilt, counts.Exchanges, bits), BitErrorRate.UpperBound(counts.Spoilt, counts.Exchanges, bits));
    }

    private static string Refused(LineTest test) => test.ReadException > 0 ? $" (it refuses the register, exception {test.ReadException}, which answers as well)" : "";

    private static TimeSpan Wire(LineTestPlan plan, LineTest test) => plan.Line.CharacterTime(test.Counts.Characters);

    private static double Rounded(TimeSpan time) => Math.Round(time.TotalMilliseconds, 3);

    private static string Ms(TimeSpan time) => Verbs.Text.Of(Math.Round(time.TotalMilliseconds, 2));

    private static string Rate(double rate) => rate == 0 ? "none" : rate.ToString("0.0e+0", CultureInfo.InvariantCulture);
}

/// <summary>What a line test measured: <c>Way</c> is echo, read or none; times are ms; rates are of bits.</summary>
public sealed record LineTestJson(
    string Port, int Address, int Baud, string Parity, int StopBits, double TimeoutMs, int Seed, string Way, string WhyNoEcho, int Exchanges, int Good, int Late, int Lost,
    int BadCrc, int Broken, int WrongEcho, int Refused, RoundTripJson? RoundTripMs, BitErrorsJson? BitErrors, IReadOnlyList<SpoiltPatternJson> SpoiltPatterns,
    bool IsGood, bool Interrupted, string Verdict, IReadOnlyList<string> WhatToDo, string Problem);

/// <summary>Round trips, ms; <c>Wire</c> is what request and answer take on the wire.</summary>
public sealed record RoundTripJson(double P50, double P99, double Max, double Wire);

/// <summary>Rate of bit errors: the most likely one and the one that it is not above with that confidence.</summary>
public sealed record BitErrorsJson(double Estimate, double UpperBound, double Confidence);

/// <summary>A pattern and how many of its exchanges were spoilt.</summary>
public sealed record SpoiltPatternJson(string Pattern, int Count);
