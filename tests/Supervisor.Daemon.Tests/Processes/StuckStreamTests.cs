using System.Text.Json;
using Supervisor.History.Entries;
using Supervisor.History.Reading;
using Supervisor.Records.Commands;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>The machine stop while whoever commands hangs and nobody reads the streams that are open.</summary>
[Collection(ProcessTests.Name)]
public sealed class StuckStreamTests
{
    private const int Readers = 4;

    // Slow, and far to go: on a busy machine minutes pass before the stop is given.
    private const string Speed = "3";
    private static readonly string[] Move = ["move", "gantry", "800", "dibber", "170", "tray", "3000", "drum", "3000", "--by", "--velocity", Speed];

    /// <summary>Axis, line, address, counts a unit and period of the demo's machine file.</summary>
    private static readonly (string Name, string Line, byte Address, double Counts, double Period)[] Axes =
        [("tray", "line-a", 1, 100, 3200), ("gantry", "line-a", 2, 1000, 0), ("dibber", "line-b", 3, 1000, 0), ("drum", "line-a", 4, 100, 360)];

    [Fact]
    public async Task Stop_WithAHolderThatHangsAndStuckReaders_StopsEveryAxisAndTellsWhoAsked()
    {
        // Authority that is lost with its hung holder must not be what stops the axes.
        await using var trial = await TrialMachine.StartReadyAsync(text => text.Replace(
            "\"machine\":", "\"authority\": { \"onLapse\": \"finish\" },\n  \"machine\":", StringComparison.Ordinal));
        await using var holder = trial.Start(Move);
        await trial.SeeAsync("every axis move", status => Axes.All(axis => State(status, axis.Name) == "Moving" && Value(status, axis.Name, "velocity") > 1));
        await using var watcher = trial.Start("watch", "--json");
        holder.Signal(Signals.Suspend);
        watcher.Signal(Signals.Suspend);
        var readers = Enumerable.Range(0, Readers).Select(_ => new StuckReader(trial.Socket)).ToArray();
        await trial.UntilAsync("every reader stuck", () => Task.FromResult(readers.All(reader => reader.IsStuck)));
        Assert.All(Axes, axis => Assert.Equal("Moving", State(trial.StatusAsync().Result!.Value, axis.Name)));

        await using var stop = trial.Start("stop", "--json");
        var said = await stop.EndAsync();

        Assert.True(said.ExitCode == 0, said.ToString());
        Assert.Equal("done", JsonDocument.Parse(said.Output).RootElement.GetProperty("outcome").GetString());
        var stopped = (await trial.StatusAsync())!.Value;
        Assert.All(Axes, axis => Assert.Equal(("Ready", "stopped, to be released"), (State(stopped, axis.Name), TrialMachine.Axis(stopped, axis.Name).GetProperty("detail").GetString())));
        Assert.False(holder.HasEnded);
        holder.Signal(Signals.Continue);
        var told = await holder.EndAsync();
        Assert.True(told.ExitCode == 1, told.ToString());

        trial.Serve.Signal(Signals.Terminate);
        Assert.Equal(0, (await trial.Serve.EndAsync()).ExitCode);
        Array.ForEach(readers, reader => reader.Dispose());
        Assert.All(Axes, axis => AssertRested(trial, axis, Value(stopped, axis.Name, "position")));
        AssertTold(trial, stop.Id);
    }

    /// <summary>Asks the drive itself: at rest, and where it was when the stop was said to be done.</summary>
    private static void AssertRested(TrialMachine trial, (string Name, string Line, byte Address, double Counts, double Period) axis, double told)
    {
        var drive = DriveLine.Read(trial.Link(axis.Line), axis.Address, axis.Counts);
        Assert.InRange(drive.Velocity, -0.5, 0.5);
        var since = drive.Position - told;
        Assert.InRange(axis.Period > 0 ? Math.IEEERemainder(since, axis.Period) : since, -0.5, 0.5);
    }

    /// <summary>One stop of the whole machine, asked for by the process that did, and one of each axis, which was moving.</summary>
    private static void AssertTold(TrialMachine trial, int process)
    {
        var kept = new HistoryReader(Path.Combine(trial.StateFolder, "history.db"))
            .Query(new HistoryFilter { Kinds = [RecordKind.Command, RecordKind.Stop], Limit = 1000 }).Records.Select(stored => stored.Record).ToArray();
        var command = Assert.Single(kept.OfType<CommandRecord>(), record => record.Command == "stop all");
        Assert.Equal(Outcome.Done, command.Outcome);
        Assert.EndsWith($"(stop, process {process})", command.Holder, StringComparison.Ordinal);
        foreach (var axis in Axes)
        {
            var measured = Assert.Single(kept.OfType<StopRecord>(), record => record.Axis == axis.Name && record.Cause == "asked for" && record.Velocity > 1);
            Assert.NotNull(measured.RestAfter);
        }
    }

    private static string? State(JsonElement status, string axis) => TrialMachine.Axis(status, axis).GetProperty("state").GetString();

    private static double Value(JsonElement status, string axis, string member) => TrialMachine.Axis(status, axis).GetProperty(member).GetDouble();
}
