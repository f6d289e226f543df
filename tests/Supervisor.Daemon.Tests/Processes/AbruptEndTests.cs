using Supervisor.History.Entries;
using Supervisor.History.Reading;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>A daemon that hangs, one that is told to end while a reader of its streams is stuck, one that is killed: while an axis moves.</summary>
[Collection(ProcessTests.Name)]
public sealed class AbruptEndTests
{
    private const int OperationEnabled = 0x27;

    [Fact]
    public async Task Serve_SuspendedInAMove_DrivesStopByTheirOwnTimeout()
    {
        await using var trial = await TrialMachine.StartReadyAsync();
        await using var move = await MoveAsync(trial);

        trial.Serve.Signal(Signals.Suspend);

        // Any frame feeds the drives' time-out (1 s): nobody speaks to them while it runs out. The move itself would take seven seconds.
        await Task.Delay(TimeSpan.FromSeconds(3), TestContext.Current.CancellationToken);
        await trial.KillServeAsync();
        AssertStopped(trial);
        await AssertTheNextRunTellsAsync(trial);
    }

    /// <summary>A board that hung for a while: what its axes were doing when it woke is over, whatever its commands said.</summary>
    [Fact]
    public async Task Serve_SuspendedInAMoveAndWoken_FindsTheAxisStoppedAndLeavesItSo()
    {
        await using var trial = await TrialMachine.StartReadyAsync();
        await using var move = await MoveAsync(trial);

        trial.Serve.Signal(Signals.Suspend);
        await Task.Delay(TimeSpan.FromSeconds(4), TestContext.Current.CancellationToken);
        trial.Serve.Signal(Signals.Continue);

        Said? faults = null;
        await trial.UntilAsync("the fault recorded", async () =>
            (faults = await trial.RunAsync("faults", "--axis", "gantry", "--json")).ExitCode == 0 && faults.Output.Contains("\"gantry\"", StringComparison.Ordinal));
        var stood = await trial.SeeAsync("the gantry at rest", status => TrialMachine.Axis(status, "gantry") is var axis
            && axis.GetProperty("state").GetString() != "Moving" && Math.Abs(axis.GetProperty("velocity").GetDouble()) < 1);
        var position = TrialMachine.Axis(stood, "gantry").GetProperty("position").GetDouble();
        Assert.InRange(position, 50, 600);
        await Task.Delay(TimeSpan.FromSeconds(1), TestContext.Current.CancellationToken);
        Assert.Equal(position, (await trial.AxisAsync("gantry")).GetProperty("position").GetDouble(), 0.5);
        Assert.NotEqual(0, (await move.EndAsync()).ExitCode);
    }

    [Fact]
    public async Task Terminate_WithAStuckReaderWhileAnAxisMoves_StopsItAndEnds()
    {
        await using var trial = await TrialMachine.StartReadyAsync();
        await using var reader = trial.Start("watch", "--json");
        await using var move = await MoveAsync(trial);
        reader.Signal(Signals.Suspend);

        trial.Serve.Signal(Signals.Terminate);
        var said = await trial.Serve.EndAsync();

        Assert.True(said.ExitCode == 0, said.ToString());
        Assert.False(reader.HasEnded);
        AssertStopped(trial);
        Assert.Equal(RecordKind.End, Kept(trial).First().Kind);
    }

    [Fact]
    public async Task Restart_AfterAKillInAMove_TellsThatTheRunBeforeDidNotEndInOrder()
    {
        await using var trial = await TrialMachine.StartReadyAsync();
        await using var move = await MoveAsync(trial);

        await trial.KillServeAsync();
        await AssertTheNextRunTellsAsync(trial);
    }

    /// <summary>The next run meets the axes, ends in order, and has written that the one before did not.</summary>
    private static async Task AssertTheNextRunTellsAsync(TrialMachine trial)
    {
        trial.StartServe();
        await trial.SeeAsync("the gantry online", status => TrialMachine.Axis(status, "gantry").GetProperty("online").GetBoolean());
        trial.Serve.Signal(Signals.Terminate);
        Assert.Equal(0, (await trial.Serve.EndAsync()).ExitCode);

        // Newest first.
        var starts = Kept(trial).OfType<StartRecord>().Select(start => start.PreviousEnd);
        Assert.Equal([PreviousEnd.NotInOrder, PreviousEnd.Unknown], starts);
    }

    private static async Task<Daemon> MoveAsync(TrialMachine trial)
    {
        var move = trial.Start("move", "gantry", "800", "--velocity", "100");
        await trial.SeeAsync("the gantry beyond 50 mm", status => TrialMachine.Axis(status, "gantry") is var axis
            && axis.GetProperty("state").GetString() == "Moving" && axis.GetProperty("position").GetDouble() > 50);
        return move;
    }

    private static IEnumerable<HistoryRecord> Kept(TrialMachine trial) =>
        new HistoryReader(Path.Combine(trial.StateFolder, "history.db"))
            .Query(new HistoryFilter { Kinds = [RecordKind.Start, RecordKind.End], Limit = 100 }).Records.Select(stored => stored.Record);

    /// <summary>Asks the drive itself: short of its target, at rest, not in CiA 402's operation enabled (mask 6Fh; secondary text).</summary>
    private static void AssertStopped(TrialMachine trial)
    {
        var gantry = DriveLine.Read(trial.Link("line-a"), 2, 1000);
        Assert.NotEqual(OperationEnabled, gantry.Statusword & 0x6F);
        Assert.InRange(gantry.Position, 50, 600);
        Assert.InRange(gantry.Velocity, -1, 1);
    }
}
