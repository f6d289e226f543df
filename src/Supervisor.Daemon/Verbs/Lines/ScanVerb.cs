using System.CommandLine;
using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Daemon.Verbs.Diagnose;

namespace Supervisor.Daemon.Verbs.Lines;

/// <summary><c>scan PORT [--baud …] [--parity …] [--stop-bits N] [--first N] [--last N] [--timeout-ms MS] [--tries N] [--all] [--json]</c>.</summary>
internal static class ScanVerb
{
    private const int UsualTimeoutMs = 100;
    private static readonly int[] UsualBauds = [115200, 19200, 9600, 57600, 38400];

    public static Command Build()
    {
        var port = LineOptions.Port();
        var bauds = LineOptions.Bauds(UsualBauds);
        var parities = LineOptions.Parity(LineParity.None, LineParity.Even);
        var stopBits = LineOptions.StopBits();
        var first = Numbers.Integer("--first", "ADDRESS", "First address to ask.", ModbusLimits.FirstUnit, ModbusLimits.LastUnit, ModbusLimits.FirstUnit);
        var last = Numbers.Integer("--last", "ADDRESS", "Last address to ask.", ModbusLimits.FirstUnit, ModbusLimits.LastUnit, ModbusLimits.LastUnit);
        var timeout = LineOptions.TimeoutMs(UsualTimeoutMs);
        var tries = Numbers.Integer("--tries", "COUNT", "Requests to an address that is silent; a slave that follows its line may take the first for an answer.", 1, 10, 2);
        var all = new Option<bool>("--all") { Description = "Try every line setting, also once somebody answered." };
        var json = ClientOptions.Json();
        var verb = new Command(
            "scan",
            "Ask every address of a serial port who is there and what it is, at the usual or the given line settings. Reads only; without a daemon. Until Ctrl-C or the end; 1 when nobody answers.")
        { port, bauds, parities, stopBits, first, last, timeout, tries, all, json };
        verb.SetAction((parsed, cancellation) => Task.FromResult(Run(
            new ScanPlan(
                parsed.GetRequiredValue(port),
                [.. parsed.GetRequiredValue(bauds).SelectMany(baud => parsed.GetRequiredValue(parities).Select(parity => LineOptions.Line(baud, parity, parsed.GetValue(stopBits))))],
                parsed.GetValue(first), parsed.GetValue(last), TimeSpan.FromMilliseconds(parsed.GetValue(timeout)), parsed.GetValue(tries), parsed.GetValue(all)),
            parsed.GetValue(json),
            cancellation)));
        return verb;
    }

    private static int Run(ScanPlan plan, bool json, CancellationToken cancellation)
    {
        if (plan.First > plan.Last)
        {
            Terminal.Error($"--first {plan.First} is above --last {plan.Last}");
            return ExitCode.Usage;
        }

        var places = new DiagnosisPlaces();
        using var progress = ProgressLine.OnTerminal();
        var begun = places.Clock.Now;
        var scan = new Scan(plan, places, (line, address, found) => progress.Show(
            $"{LineOptions.Text(line)}: address {address} of {plan.Last}, {found} found, {ScanText.Duration(places.Clock.Now - begun)} of {ScanText.Duration(plan.Longest)}"));
        if (!json)
        {
            ScanText.Begin(plan, Console.Out);
        }

        scan.Run(cancellation);
        progress.Clear();
        var isInterrupted = cancellation.IsCancellationRequested;
        if (json)
        {
            JsonOut.Print(ScanText.ToJson(plan, scan, places.Clock.Now - begun, isInterrupted), JsonShapes.Readable.ScanJson);
        }
        else
        {
            Print(plan, scan, isInterrupted);
        }

        if (scan.Refusal.Length > 0)
        {
            Terminal.Error(scan.Refusal);
            return ExitCode.Failed;
        }

        return isInterrupted ? ExitCode.Interrupted
            : scan.Lines.Any(line => line.Found.Any(found => found.Answer == ScanAnswer.Answers)) ? ExitCode.Done : ExitCode.Failed;
    }

    private static void Print(ScanPlan plan, Scan scan, bool isInterrupted)
    {
        foreach (var line in scan.Lines)
        {
            ScanText.Print(line, Console.Out);
        }

        if (scan.Refusal.Length == 0 && ScanText.WhatNext(plan, scan, isInterrupted) is { Length: > 0 } next)
        {
            Console.Out.WriteLine(next);
        }
    }
}
