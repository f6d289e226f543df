using System.Text.Json;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>A machine of processes over real pseudo-terminals, with what must never go wrong.</summary>
[Collection(ProcessTests.Name)]
public sealed class MachineTests
{
    private const string Slow = "100";

    [Fact]
    [Trait(Daemon.ProgramTrait, Daemon.Beside)]
    public async Task Verbs_OnAReadyMachine_DoRefuseAndTell()
    {
        await using var trial = await TrialMachine.StartReadyAsync();

        var far = await trial.RunAsync("move", "dibber", "999999");
        Assert.Equal(1, far.ExitCode);
        Assert.Contains("180 mm", far.Error, StringComparison.Ordinal);
        Assert.Contains("POSITION_LIMIT", far.Error, StringComparison.Ordinal);

        var unknown = await trial.RunAsync("enable", "dribbler");
        Assert.Equal(1, unknown.ExitCode);
        Assert.Contains("dibber", unknown.Error, StringComparison.Ordinal);

        var moved = await trial.RunAsync("move", "dibber", "20", "gantry", "100", "--json");
        Assert.True(moved.ExitCode == 0, moved.ToString());
        Assert.Equal("done", JsonDocument.Parse(moved.Output).RootElement.GetProperty("outcome").GetString());
        Assert.Equal(20, (await trial.AxisAsync("dibber")).GetProperty("position").GetDouble(), 0.5);

        var by = await trial.RunAsync("move", "dibber", "-5", "--by");
        Assert.True(by.ExitCode == 0, by.ToString());
        Assert.Equal(15, (await trial.AxisAsync("dibber")).GetProperty("position").GetDouble(), 0.5);

        trial.Bench("input gantry.input1 0");
        await trial.SeeAsync("the guard open", status => status.GetProperty("interlocks")[1].GetProperty("open").GetBoolean());
        var guarded = await trial.RunAsync("move", "gantry", "200");
        Assert.Equal(1, guarded.ExitCode);
        Assert.Contains("front guard", guarded.Error, StringComparison.Ordinal);

        trial.Serve.Signal(Signals.Terminate);
        var ended = await trial.Serve.EndAsync();
        Assert.True(ended.ExitCode == 0, ended.ToString());
        Assert.False(File.Exists(trial.Socket));
    }

    [Fact]
    public async Task Serve_SecondOnTheSameSocket_IsRefusedAndTheFirstServesOn()
    {
        await using var trial = await TrialMachine.StartAsync();

        var second = await trial.RunAsync(
            "serve", "--config", trial.MachineFile, "--socket", trial.Socket, "--state-dir", Path.GetDirectoryName(trial.Socket)! + "/other");

        Assert.Equal(2, second.ExitCode);
        Assert.Contains("--socket", second.Error, StringComparison.Ordinal);
        Assert.NotNull(await trial.StatusAsync());
    }

    [Fact]
    public async Task Client_InterruptedInAMove_StopsTheAxisFirst()
    {
        await using var trial = await TrialMachine.StartReadyAsync();
        await using var move = trial.Start("move", "gantry", "800", "--velocity", Slow);
        await SeeBeyondAsync(trial, 50);

        move.Signal(Signals.Interrupt);
        var said = await move.EndAsync();

        Assert.True(said.ExitCode == 130, said.ToString());
        await AssertStandsShortAsync(trial, "Ready");
    }

    [Fact]
    public async Task Client_KilledInAMove_LosesAuthorityAndTheAxisStops()
    {
        await using var trial = await TrialMachine.StartReadyAsync();
        await using var move = trial.Start("move", "gantry", "800", "--velocity", Slow);
        await SeeBeyondAsync(trial, 50);

        move.Signal(Signals.Kill);

        await trial.SeeAsync("nobody hold authority", status => status.GetProperty("authority").ValueKind == JsonValueKind.Null);
        await trial.SeeAsync("the gantry at rest", status => TrialMachine.Axis(status, "gantry").GetProperty("state").GetString() == "Ready");
        await AssertStandsShortAsync(trial, "Ready");
    }

    [Fact]
    public async Task Client_NoWait_HandsTheMoveOn()
    {
        await using var trial = await TrialMachine.StartReadyAsync();

        // Slow enough that it is seen to move by itself: on a busy machine the verbs that look take seconds.
        var said = await trial.RunAsync("move", "gantry", "300", "--velocity", "15", "--no-wait");

        Assert.True(said.ExitCode == 0, said.ToString());
        await trial.SeeAsync("the gantry move with nobody holding authority", status =>
            status.GetProperty("authority").ValueKind == JsonValueKind.Null && TrialMachine.Axis(status, "gantry").GetProperty("state").GetString() == "Moving");
        var arrived = await trial.SeeAsync("the gantry arrive", status => TrialMachine.Axis(status, "gantry").GetProperty("state").GetString() == "Ready");
        Assert.Equal(300, TrialMachine.Axis(arrived, "gantry").GetProperty("position").GetDouble(), 0.5);
    }

    [Fact]
    [Trait(Daemon.ProgramTrait, Daemon.Beside)]
    public async Task Serve_KilledInAMove_DrivesStopByTheirOwnTimeout()
    {
        await using var trial = await TrialMachine.StartReadyAsync();
        await using var move = trial.Start("move", "gantry", "800", "--velocity", Slow);
        await SeeBeyondAsync(trial, 50);

        await trial.KillServeAsync();
        var said = await move.EndAsync();

        Assert.True(said.ExitCode == 1, said.ToString());
        Assert.Contains("lost", said.Error, StringComparison.Ordinal);

        // Any frame feeds the drive's time-out (1 s), so nobody speaks to it while it runs out; the move itself would take seven seconds.
        await Task.Delay(TimeSpan.FromSeconds(3), TestContext.Current.CancellationToken);
        var gantry = DriveLine.Read(trial.Link("line-a"), 2, 1000);
        Assert.InRange(gantry.Position, 50, 600);
        Assert.InRange(gantry.Velocity, -1, 1);

        // CiA 402 statusword: mask 6Fh, operation enabled is 27h (secondary text).
        Assert.NotEqual(0x27, gantry.Statusword & 0x6F);
    }

    [Fact]
    public async Task Serve_RestartedWithinTheDrivesTimeout_StopsThemByFirstContact()
    {
        await using var trial = await TrialMachine.StartReadyAsync(
            text => text.Replace("\"communicationTimeoutMs\": 2500", "\"communicationTimeoutMs\": 20000", StringComparison.Ordinal));
        await using var move = trial.Start("move", "gantry", "800", "--velocity", "20");
        await SeeBeyondAsync(trial, 10);
        var before = (await trial.AxisAsync("gantry")).GetProperty("position").GetDouble();

        await trial.KillServeAsync();
        trial.StartServe();
        await trial.SeeAsync("the gantry online", status => TrialMachine.Axis(status, "gantry").GetProperty("online").GetBoolean());
        var stopped = await trial.SeeAsync("the gantry at rest", status =>
            Math.Abs(TrialMachine.Axis(status, "gantry").GetProperty("velocity").GetDouble()) < 0.5
            && TrialMachine.Axis(status, "gantry").GetProperty("state").GetString() != "Moving");

        // By its own time-out it would have gone on for 400 mm.
        var position = TrialMachine.Axis(stopped, "gantry").GetProperty("position").GetDouble();
        Assert.InRange(position - before, 0, 300);
        await Task.Delay(TimeSpan.FromSeconds(1), TestContext.Current.CancellationToken);
        Assert.Equal(position, (await trial.AxisAsync("gantry")).GetProperty("position").GetDouble(), 0.5);
    }

    private static Task<JsonElement> SeeBeyondAsync(TrialMachine trial, double position) => trial.SeeAsync(
        $"the gantry beyond {position} mm",
        status => TrialMachine.Axis(status, "gantry") is var axis
            && axis.GetProperty("state").GetString() == "Moving" && axis.GetProperty("position").GetDouble() > position);

    private static async Task AssertStandsShortAsync(TrialMachine trial, string state)
    {
        var gantry = await trial.AxisAsync("gantry");
        Assert.Equal(state, gantry.GetProperty("state").GetString());
        Assert.InRange(gantry.GetProperty("position").GetDouble(), 50, 700);
        await Task.Delay(TimeSpan.FromSeconds(1), TestContext.Current.CancellationToken);
        Assert.Equal(gantry.GetProperty("position").GetDouble(), (await trial.AxisAsync("gantry")).GetProperty("position").GetDouble(), 0.5);
    }
}
