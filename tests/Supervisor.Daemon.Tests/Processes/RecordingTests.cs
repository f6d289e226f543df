using System.Globalization;
using System.Text.Json;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>A jam on the real daemon and bench: what was recorded is held against the bench's own log, answer by answer.</summary>
[Collection(ProcessTests.Name)]
public sealed class RecordingTests
{
    private const double CountsPerUnit = 1_000;

    [Fact]
    public async Task Recording_OfAJam_IsWhatTheBenchTold()
    {
        await using var trial = await TrialMachine.StartReadyAsync();
        Assert.Equal(0, (await trial.RunAsync("move", "gantry", "100")).ExitCode);
        Assert.Equal(0, (await trial.RunAsync("move", "gantry", "800", "--velocity", "50", "--no-wait")).ExitCode);
        await trial.SeeAsync("gantry on its way", status => TrialMachine.Axis(status, "gantry").GetProperty("position").GetDouble() > 150);
        trial.Bench("jam gantry");
        await trial.SeeAsync("gantry faulted", status => TrialMachine.Axis(status, "gantry").GetProperty("state").GetString() == "Faulted");

        var recording = 0L;
        await trial.UntilAsync("recorded", async () => (recording = await NewestAsync(trial)) > 0);
        var said = await trial.RunAsync(
            "trace", "gantry", "--recording", recording.ToString(CultureInfo.InvariantCulture), "--json", "--channels", "position,torque,result,state,misses");
        Assert.Equal(0, said.ExitCode);
        var lines = said.Output.Split('\n', StringSplitOptions.RemoveEmptyEntries).Select(line => JsonDocument.Parse(line).RootElement).ToArray();
        var samples = lines.Select(line => line.GetProperty("sample")).Where(sample => sample.ValueKind == JsonValueKind.Object).ToArray();
        var gaps = lines.Select(line => line.GetProperty("gap")).Where(gap => gap.ValueKind == JsonValueKind.Object).ToArray();

        Assert.All(gaps, gap => Assert.Equal("gantry", gap.GetProperty("axis").GetString()));
        AssertIsWhatWasTold(samples, Log(trial), await ErrorsAsync(trial));
        Assert.Contains(samples, sample => sample.GetProperty("state").GetString() == "Faulted");

        // A cycle has a sample or is told as missing; a computer that stalls makes gaps, never silent ones.
        var cycles = samples.Select(sample => sample.GetProperty("cycle").GetInt64()).ToArray();
        var missing = cycles.Zip(cycles.Skip(1), (one, next) => Math.Max(0, next - one - 1)).Sum();
        var begin = samples[0].GetProperty("monotonicUs").GetInt64();
        var end = samples[^1].GetProperty("monotonicUs").GetInt64();
        Assert.Equal(missing, gaps.Where(gap => gap.GetProperty("toUs").GetInt64() > begin && gap.GetProperty("fromUs").GetInt64() < end).Sum(gap => gap.GetProperty("cycles").GetInt64()));

        await AssertPlotsAsync(trial, recording);
    }

    [Fact]
    public async Task Trace_OfARunningMachine_ShowsEveryCycle()
    {
        await using var trial = await TrialMachine.StartAsync();
        var said = await trial.RunAsync("trace", "tray", "dibber", "--seconds", "2", "--csv", "--channels", "position,velocity,torque,following,inputs");

        Assert.Equal(0, said.ExitCode);
        var lines = said.Output.Split('\n', StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal("time,monotonic_us,axis,unit,cycle,position,velocity,torque_percent,following,inputs", lines[0].TrimEnd());
        Assert.Equal(["dibber", "tray"], lines.Skip(1).Select(line => line.Split(',')[2]).Distinct().Order());
        var cycles = lines.Skip(1).Select(line => line.Split(',')).Where(fields => fields[2] == "tray").Select(fields => long.Parse(fields[4], CultureInfo.InvariantCulture)).ToArray();
        Assert.True(cycles.Length > 5, $"{cycles.Length} samples");
        Assert.Equal(cycles.Order(), cycles);

        var unknown = await trial.RunAsync("trace", "trey", "--seconds", "1");
        Assert.Equal((1, true), (unknown.ExitCode, unknown.Error.Contains("trey", StringComparison.Ordinal)));
    }

    private static async Task<long> NewestAsync(TrialMachine trial)
    {
        var said = await trial.RunAsync("recordings", "--json");
        return said.ExitCode != 0 ? 0 : JsonDocument.Parse(said.Output).RootElement.GetProperty("recordings").EnumerateArray()
            .Where(each => each.GetProperty("hasSamples").GetBoolean() && each.GetProperty("axis").GetString() == "gantry")
            .Select(each => each.GetProperty("sequence").GetInt64()).FirstOrDefault();
    }

    /// <summary>Every sample that was read anew is the bench's last answer before it, each answer is used once, and an answer without a sample came too late: its request counts as not answered, in the samples or, where a repeat within its cycle was answered, among the port's errors.</summary>
    private static void AssertIsWhatWasTold(JsonElement[] samples, List<(long AtUs, long Counts, double Torque)> log, long errors)
    {
        var used = -1;
        var repeated = 0;
        foreach (var sample in samples.Where(sample => sample.GetProperty("result").GetString() == "Good"))
        {
            var at = sample.GetProperty("monotonicUs").GetInt64();
            var told = log.FindLastIndex(entry => entry.AtUs <= at);
            Assert.True(told > used, $"{sample} has no answer of its own");
            Assert.Equal(log[told].Counts, (long)Math.Round(sample.GetProperty("position").GetDouble() * CountsPerUnit));
            Assert.Equal(log[told].Torque, sample.GetProperty("torque").GetDouble(), 0.051);
            if (used >= 0)
            {
                var failed = samples.Count(each => each.GetProperty("result").GetString() != "Good" && each.GetProperty("monotonicUs").GetInt64() <= at
                    && each.GetProperty("monotonicUs").GetInt64() > log[used].AtUs);
                repeated += failed > 0 || sample.GetProperty("misses").GetDouble() > 0 ? 0 : told - used - 1;
                Assert.True(repeated <= errors, $"{told - used - 1} answers before {sample} were not recorded, and {errors} requests not answered");
            }

            used = told;
        }

        Assert.True(used > 0);
    }

    /// <summary>Requests that were not answered, on the gantry's line and so far.</summary>
    private static async Task<long> ErrorsAsync(TrialMachine trial) => (await trial.StatusAsync())!.Value.GetProperty("ports").EnumerateArray()
        .Single(port => port.GetProperty("name").GetString() == "line-a").GetProperty("errors").GetInt64();

    private static List<(long AtUs, long Counts, double Torque)> Log(TrialMachine trial) =>
    [
        .. File.ReadAllLines(trial.BenchLog).Skip(1).Select(line => line.Split(',')).Where(fields => fields.Length == 5 && fields[1] == "gantry")
            .Select(fields => (long.Parse(fields[0], CultureInfo.InvariantCulture), long.Parse(fields[2], CultureInfo.InvariantCulture), double.Parse(fields[4], CultureInfo.InvariantCulture))),
    ];

    private static async Task AssertPlotsAsync(TrialMachine trial, long recording)
    {
        var plot = Path.Combine(trial.StateFolder, "plot.svg");
        Assert.Equal(0, (await trial.RunAsync("trace", "--recording", recording.ToString(CultureInfo.InvariantCulture), "--plot", plot)).ExitCode);
        var text = await File.ReadAllTextAsync(plot);
        Assert.StartsWith("<svg", text, StringComparison.Ordinal);
        Assert.Contains("position, mm", text, StringComparison.Ordinal);
        Assert.Contains("torque, %", text, StringComparison.Ordinal);
    }
}
