using System.CommandLine;
using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Daemon.Verbs.Diagnose;

namespace Supervisor.Daemon.Verbs.Lines;

/// <summary><c>line-test PORT ADDRESS [--count N] [--baud RATE] [--parity NAME] [--stop-bits N] [--timeout-ms MS] [--register N] [--function 3|4] [--seed N] [--json]</c>.</summary>
internal static class LineTestVerb
{
    private const int UsualTimeoutMs = 20;
    private const int UsualCount = 1000;
    private const int MostCount = 10_000_000;

    public static Command Build()
    {
        var port = LineOptions.Port();
        var address = new Argument<int>("ADDRESS") { Description = "The device that is to answer, 1 to 247." };
        address.Validators.Add(result =>
        {
            if (result.Tokens.Count == 1 && int.TryParse(result.Tokens[0].Value, out var value) && value is < ModbusLimits.FirstUnit or > ModbusLimits.LastUnit)
            {
                result.AddError($"ADDRESS must be from {ModbusLimits.FirstUnit} to {ModbusLimits.LastUnit}");
            }
        });
        var count = Numbers.Integer("--count", "N", $"Exchanges; otherwise {UsualCount}.", 1, MostCount, UsualCount);
        var baud = LineOptions.Baud();
        var parity = LineOptions.Parity(LineParity.None);
        var stopBits = LineOptions.StopBits();
        var timeout = LineOptions.TimeoutMs(UsualTimeoutMs);
        var register = Numbers.Integer("--register", "NUMBER", "Register to read where the device does not echo, its address on the wire.", 0, ushort.MaxValue, 0);
        var function = Numbers.Integer("--function", "3|4", "Function that reads it.", FunctionCode.ReadHoldingRegisters, FunctionCode.ReadInputRegisters, FunctionCode.ReadHoldingRegisters);
        var seed = Numbers.Integer("--seed", "N", "Of the random patterns.", 0, int.MaxValue, 1);
        var json = ClientOptions.Json();
        var verb = new Command(
            "line-test",
            "Have a device echo patterns (function 8; else read one register) and tell lost, damaged, wrong and late answers, round trips and bit errors. Writes no register; without a daemon. 1 when the line is poor.")
        { port, address, count, baud, parity, stopBits, timeout, register, function, seed, json };
        verb.Check(result =>
        {
            if (result.GetValue(parity) is { Length: > 1 })
            {
                result.AddError("--parity takes one name here");
            }
        });
        verb.SetAction((parsed, cancellation) => Task.FromResult(Run(
            new LineTestPlan(
                parsed.GetRequiredValue(port),
                LineOptions.Line(parsed.GetValue(baud), parsed.GetRequiredValue(parity)[0], parsed.GetValue(stopBits)),
                (byte)parsed.GetValue(address), parsed.GetValue(count), TimeSpan.FromMilliseconds(parsed.GetValue(timeout)), (byte)parsed.GetValue(function),
                (ushort)parsed.GetValue(register), parsed.GetValue(seed)),
            parsed.GetValue(json),
            cancellation)));
        return verb;
    }

    private static int Run(LineTestPlan plan, bool json, CancellationToken cancellation)
    {
        using var progress = ProgressLine.OnTerminal();
        var test = new LineTest(plan, new DiagnosisPlaces(), (made, spoilt) =>
        {
            if (made % 16 == 0)
            {
                progress.Show($"{made} of {plan.Count}, {spoilt} spoilt");
            }
        });
        test.Run(cancellation);
        progress.Clear();
        var isInterrupted = cancellation.IsCancellationRequested;
        if (json)
        {
            JsonOut.Print(LineTestText.ToJson(plan, test, isInterrupted), JsonShapes.Readable.LineTestJson);
        }
        else
        {
            LineTestText.Print(plan, test, Console.Out);
        }

        if (test.Refusal.Length > 0)
        {
            Terminal.Error(test.Refusal);
        }

        return test.Refusal.Length > 0 ? ExitCode.Failed : isInterrupted ? ExitCode.Interrupted : LineTestText.IsGood(test) ? ExitCode.Done : ExitCode.Failed;
    }
}
