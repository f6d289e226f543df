using Supervisor.Bus.Rtu;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Verbs.Lines;

/// <summary>What a scan found, for people and for programs.</summary>
internal static class ScanText
{
    private static readonly (byte Object, string Word)[] Words =
    [
        (DeviceIdentification.VendorName, "vendor"), (DeviceIdentification.ProductCode, "product"), (DeviceIdentification.Revision, "revision"),
        (DeviceIdentification.ProductName, "name"), (DeviceIdentification.ModelName, "model"), (DeviceIdentification.UserApplicationName, "called"),
    ];

    public static void Begin(ScanPlan plan, TextWriter to)
    {
        to.WriteLine(
            $"{plan.Device}: addresses {plan.First} to {plan.Last} at {plan.Lines.Count} line setting{(plan.Lines.Count == 1 ? "" : "s")}, "
            + $"{Duration(plan.Longest)} where nobody answers; reads only");
    }

    public static void Print(ScannedLine line, TextWriter to)
    {
        to.WriteLine($"{LineOptions.Text(line.Line)}: {Outcome(line)}");
        foreach (var address in line.Found)
        {
            to.WriteLine($"  address {address.Address,-3}  {Of(address)}");
        }
    }

    /// <summary>What to do next; empty where nothing is.</summary>
    public static string WhatNext(ScanPlan plan, Scan scan, bool isInterrupted)
    {
        var answered = scan.Lines.SelectMany(line => line.Found).Any(found => found.Answer == ScanAnswer.Answers);
        return scan.Lines.Any(line => line.HearsItself) ? $"{SelfHearing.Advice}; then scan again"
            : isInterrupted ? "interrupted: what comes after was not tried"
            : !answered && scan.Lines.Any(line => line.Found.Count > 0) ? "try other line settings, and one device at a time: two with one address answer at once"
            : !answered ? "check that A and B are not swapped, that the adapter drives the line (RS-485 direction), the devices' supply, and other line settings"
            : scan.Lines.Count < plan.Lines.Count ? "other line settings were not tried: --all tries them"
            : "";
    }

    public static ScanJson ToJson(ScanPlan plan, Scan scan, TimeSpan duration, bool isInterrupted) => new(
        plan.Device, plan.First, plan.Last, plan.Longest.TotalSeconds, Math.Round(duration.TotalSeconds, 3), isInterrupted, scan.Refusal, WhatNext(plan, scan, isInterrupted),
        [.. scan.Lines.Select(line => new ScannedLineJson(
            line.Line.Baud, LineOptions.Name(line.Line.Parity), line.Line.StopBits, line.Tried, line.HearsItself, line.Problem,
            [.. line.Found.Select(found => new ScannedAddressJson(
                found.Address, found.Answer == ScanAnswer.Answers ? "answers" : "garbled", found.ExceptionCode, Math.Round(found.Time.TotalMilliseconds, 3), found.Garbled,
                found.Identity is { } identity ? ToJson(identity) : null))]))]);

    /// <summary>A duration for a person.</summary>
    public static string Duration(TimeSpan time) =>
        time.TotalSeconds < 1 ? "less than a second" : time.TotalMinutes < 1 ? $"{Math.Ceiling(time.TotalSeconds)} s" : $"{(int)time.TotalMinutes} min {time.Seconds} s";

    /// <summary>An identification in one line.</summary>
    public static string Of(IdentificationReading identity)
    {
        ArgumentNullException.ThrowIfNull(identity);
        return string.Join(", ", Words.Where(each => identity.Text(each.Object).Length > 0).Select(each => $"{each.Word} {identity.Text(each.Object)}"));
    }

    private static IdentificationJson ToJson(IdentificationReading identity) => new(
        identity.State == IdentificationState.Complete, identity.Conformity, [.. identity.Objects.Select(id => new IdentificationObjectJson(id, identity.Text(id)))]);

    private static string Outcome(ScannedLine line)
    {
        var answers = line.Found.Count(found => found.Answer == ScanAnswer.Answers);
        return line.HearsItself ? SelfHearing.Finding
            : line.Tried == 0 ? line.Problem
            : $"{(answers == 0 ? "nobody answers" : answers == 1 ? "1 answers" : $"{answers} answer")}, {line.Tried} asked{(line.Problem.Length > 0 ? $"; {line.Problem}" : "")}";
    }

    private static string Of(ScannedAddress address)
    {
        if (address.Answer == ScanAnswer.Garbled)
        {
            return "something answers, garbled: two drives with one address, or wrong line settings";
        }

        var identity = address.Identity is { } told ? $"; {Of(told)}" : "";
        var refusal = address.ExceptionCode > 0 ? $"; refuses register {ScanPlan.Register} (exception {address.ExceptionCode})" : "";
        var noise = address.Garbled > 0 ? $"; {address.Garbled} answer{(address.Garbled == 1 ? " was" : "s were")} garbled before: `line-test` measures that" : "";
        return $"answers in {Verbs.Text.Of(Math.Round(address.Time.TotalMilliseconds, 1))} ms{identity}{refusal}{noise}";
    }
}

/// <summary>What a scan found.</summary>
public sealed record ScanJson(
    string Port, int First, int Last, double LongestS, double DurationS, bool Interrupted, string Problem, string WhatToDo, IReadOnlyList<ScannedLineJson> Lines);

/// <summary>One pass of a scan at one line setting; <c>HearsItself</c>: the adapter hears its own requests.</summary>
public sealed record ScannedLineJson(int Baud, string Parity, int StopBits, int Asked, bool HearsItself, string Problem, IReadOnlyList<ScannedAddressJson> Addresses);

/// <summary>An address that is not silent: <c>State</c> is answers or garbled; <c>ExceptionCode</c> 0 when it did not refuse.</summary>
public sealed record ScannedAddressJson(int Address, string State, int ExceptionCode, double AnswerMs, int Garbled, IdentificationJson? Identification);

/// <summary>What a device tells of itself by function 43.</summary>
public sealed record IdentificationJson(bool Complete, int Conformity, IReadOnlyList<IdentificationObjectJson> Objects);

/// <summary>One identification object: 0 vendor, 1 product code, 2 revision, 3 address on the web, 4 product name, 5 model, 6 what its user calls it.</summary>
public sealed record IdentificationObjectJson(int Object, string Text);
