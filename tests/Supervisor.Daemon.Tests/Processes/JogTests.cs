using System.Text.Json;
using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;
using AxisState = Supervisor.Api.V1.AxisState;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>
/// A finger on a button: the axis moves only while it is heard of. 250 ms are asked for; here the axis is only asked to come to rest far short of where
/// the jog would have taken it, as a machine that builds other things beside the tests may stall for seconds.
/// </summary>
[Collection(ProcessTests.Name)]
public sealed class JogTests
{
    private const double Slow = 20;

    /// <summary>What the axis may still go after its finger is gone: ten seconds at the speed of the jog, where 0.25 s and the ramp are meant.</summary>
    private const double Farthest = 200;

    /// <summary>How a press ends that this machine did not refresh in time: it is done again.</summary>
    private const string Stalled = "JOG_LAPSED";

    private static CancellationToken Cancelled => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Verb_ThatEndsOrHangs_LeavesTheAxisAtRest()
    {
        // A belt that takes five seconds to come to rest.
        await using var trial = await TrialMachine.StartReadyAsync(
            text => text.Replace("\"acceleration\": 1000, \"deceleration\": 1000", "\"acceleration\": 1000, \"deceleration\": 50", StringComparison.Ordinal));

        // On its own: it says what became of it only once the axis rests.
        Said? said = null;
        await trial.UntilAsync("the tray jogged", async () =>
        {
            said = await trial.RunAsync("jog", "tray", "+", "--velocity", "250", "--for", "2");
            return !said.Error.Contains(Stalled, StringComparison.Ordinal);
        });
        Assert.True(said!.ExitCode == 0, said.ToString());
        Assert.Equal("Ready", (await trial.AxisAsync("tray")).GetProperty("state").GetString());

        await using (var jog = await JogAsync(trial))
        {
            jog.Signal(Signals.Interrupt);
            said = await jog.EndAsync();
            Assert.True(said.ExitCode == 130, said.ToString());
            await AssertRestsAsync(trial);
        }

        await using (var jog = await JogAsync(trial))
        {
            await AssertHaltsAsync(trial, () => jog.Signal(Signals.Kill));
        }

        await using (var jog = await JogAsync(trial))
        {
            await AssertHaltsAsync(trial, () => jog.Signal(Signals.Suspend));

            // Woken it goes on refreshing a press that has lapsed: nothing moves by it.
            var stood = await AssertRestsAsync(trial);
            jog.Signal(Signals.Continue);
            said = await jog.EndAsync();
            Assert.True(said.ExitCode == 1, said.ToString());
            Assert.Equal(stood, await AssertRestsAsync(trial), 0.5);
        }
    }

    [Fact]
    public async Task Press_OverTheWire_KeepsItsRules()
    {
        await using var trial = await TrialMachine.StartReadyAsync(text => text.Replace(
            "\"countsPerUnit\": 1000,\n      \"limits\": { \"position\": [0, 820]", "\"countsPerUnit\": 1000, \"enablingInput\": \"drum.input2\",\n      \"limits\": { \"position\": [0, 820]", StringComparison.Ordinal));
        using var daemon = await DaemonConnection.OpenAsync(trial.Socket, Cancelled);
        await using var authority = await HeldAuthority.TakeAsync(daemon, "a panel", Cancelled);
        var panel = new Panel(daemon, authority.Token);

        await OpenEnablingInputRefuses(trial, panel);
        await LapsedPressNeverMovesAgain(trial, daemon, panel);
        await EnablingInputOpenedHalts(trial, panel);
        await EndedPressHaltsAndEarlierIdsAreRefused(trial, panel);
        await LimitIsNotPassed(trial, daemon, panel);
        await PressNeedsAuthority(daemon);
    }

    private static async Task OpenEnablingInputRefuses(TrialMachine trial, Panel panel)
    {
        trial.Bench("input drum.input2 0");
        RpcException? refused = null;
        await trial.UntilAsync("the open enabling input refuse a jog", async () =>
        {
            refused = await panel.TryPressAsync(JogDirection.Positive);
            return refused?.Status.Detail.Contains("drum.input2", StringComparison.Ordinal) ?? false;
        });
        Assert.Equal(StatusCode.FailedPrecondition, refused!.StatusCode);
        trial.Bench("input drum.input2 1");
        await trial.UntilAsync("the closed enabling input permit a jog", async () => await panel.TryPressAsync(JogDirection.Positive) is null);
        await panel.EndAsync();
        await AssertRestsAsync(trial);
    }

    private static async Task LapsedPressNeverMovesAgain(TrialMachine trial, DaemonConnection daemon, Panel panel)
    {
        await panel.HoldUntilAsync(trial, JogDirection.Positive, axis => axis.Velocity > Slow / 2);

        var ended = await panel.SeeEndAsync(trial);
        Assert.Equal((Outcome.Replaced, "JOG_LAPSED"), (ended.Outcome, ended.Reason));
        var stood = await AssertRestsAsync(trial);
        await using var trace = await AxisTrace.BeginAsync(trial, daemon, "gantry");
        for (var again = 0; again < 10; again++)
        {
            Assert.Equal("JOG_LAPSED", (await panel.RefreshAsync()).Ended?.Reason);
        }

        Assert.Equal(stood, await AssertRestsAsync(trial), 0.5);
        Assert.DoesNotContain(trace.Seen, axis => axis.State == AxisState.Moving);
    }

    private static async Task EnablingInputOpenedHalts(TrialMachine trial, Panel panel)
    {
        CommandEnded? ended = null;
        await trial.UntilAsync("a jog ended by its enabling input", async () =>
        {
            var before = await panel.HoldUntilAsync(trial, JogDirection.Positive, axis => axis.Velocity > Slow / 2);
            trial.Bench("input drum.input2 0");

            // The finger stays on the button.
            await trial.UntilAsync("the jog end", async () => (ended = (await panel.RefreshAsync()).Ended) is not null);
            await SeeAtRestAsync(trial);
            Assert.InRange(await AssertRestsAsync(trial) - before, 0, Farthest);
            trial.Bench("input drum.input2 1");
            return ended!.Reason != Stalled;
        });
        Assert.Equal((Outcome.Replaced, "ENABLING_INPUT_OPEN"), (ended!.Outcome, ended.Reason));
        Assert.Contains("drum.input2", ended.Message, StringComparison.Ordinal);

        // The input is closed again, and the finger still on the button.
        var stood = await AssertRestsAsync(trial);
        for (var again = 0; again < 5; again++)
        {
            Assert.Equal("ENABLING_INPUT_OPEN", (await panel.RefreshAsync()).Ended?.Reason);
        }

        Assert.Equal(stood, await AssertRestsAsync(trial), 0.5);
    }

    private static async Task EndedPressHaltsAndEarlierIdsAreRefused(TrialMachine trial, Panel panel)
    {
        ulong press = 0;
        CommandEnded? ended = null;
        await trial.UntilAsync("a jog ended by hand", async () =>
        {
            await panel.HoldUntilAsync(trial, JogDirection.Positive, axis => axis.Velocity > Slow / 2);
            press = await panel.EndAsync();
            ended = await panel.SeeEndAsync(trial);
            return ended.Reason != Stalled;
        });
        Assert.Equal(Outcome.Done, ended!.Outcome);
        await AssertRestsAsync(trial);

        var refused = await panel.TryPressAsync(JogDirection.Positive, press - 1);
        Assert.Equal(StatusCode.Aborted, refused!.StatusCode);
        refused = await panel.TryPressAsync(JogDirection.Positive, 0);
        Assert.Equal(StatusCode.InvalidArgument, refused!.StatusCode);
    }

    private static async Task LimitIsNotPassed(TrialMachine trial, DaemonConnection daemon, Panel panel)
    {
        // 2400 mm/s²: 20 mm/s take 0.1 mm to stop; the axis may be 0.1 mm off where it stands (its window).
        await using var trace = await AxisTrace.BeginAsync(trial, daemon, "gantry");
        panel.Velocity = 100;
        CommandEnded? ended = null;
        await panel.TryPressAsync(JogDirection.Negative);
        await trial.UntilAsync("the lower limit", async () => (ended = (await panel.RefreshAsync()).Ended) is not null);
        Assert.Equal(Outcome.Done, ended!.Outcome);
        Assert.Equal(0, await AssertRestsAsync(trial), 0.2);
        Assert.DoesNotContain(trace.Seen, axis => axis.Position < -0.2);

        var refused = await panel.TryPressAsync(JogDirection.Negative);
        Assert.Equal(StatusCode.OutOfRange, refused!.StatusCode);
        Assert.Contains("0 mm", refused.Status.Detail, StringComparison.Ordinal);
        Assert.Null(await panel.TryPressAsync(JogDirection.Positive));
        await panel.EndAsync();
        await panel.SeeEndAsync(trial);
    }

    private static async Task PressNeedsAuthority(DaemonConnection daemon)
    {
        var refused = await new Panel(daemon, "made up").TryPressAsync(JogDirection.Positive);
        Assert.Equal(StatusCode.PermissionDenied, refused!.StatusCode);
    }

    /// <summary>Starts the verb and waits until the axis has gone a little; starts it again when this machine kept it from refreshing its press.</summary>
    private static async Task<Daemon> JogAsync(TrialMachine trial)
    {
        Daemon? jog = null;
        var from = 0.0;
        await trial.UntilAsync("the gantry jog", async () =>
        {
            var gantry = await trial.AxisAsync("gantry");
            if (jog is null or { HasEnded: true })
            {
                from = gantry.GetProperty("position").GetDouble();
                jog = trial.Start("jog", "gantry", "+", "--velocity", "20", "--for", "3600");
            }

            return gantry.GetProperty("state").GetString() == "Moving" && gantry.GetProperty("position").GetDouble() > from + 2;
        });
        return jog!;
    }

    private static async Task AssertHaltsAsync(TrialMachine trial, Action lose)
    {
        var before = (await trial.AxisAsync("gantry")).GetProperty("position").GetDouble();
        lose();
        await SeeAtRestAsync(trial);
        Assert.InRange(await AssertRestsAsync(trial) - before, 0, Farthest);
    }

    /// <summary>A press that has ended is told as such while its axis still brakes.</summary>
    private static Task<JsonElement> SeeAtRestAsync(TrialMachine trial) =>
        trial.SeeAsync("the gantry at rest", status => TrialMachine.Axis(status, "gantry").GetProperty("state").GetString() == "Ready");

    /// <summary>Ready, and where it was a second later.</summary>
    private static async Task<double> AssertRestsAsync(TrialMachine trial)
    {
        var gantry = await trial.AxisAsync("gantry");
        Assert.Equal("Ready", gantry.GetProperty("state").GetString());
        await Task.Delay(TimeSpan.FromSeconds(1), Cancelled);
        var position = (await trial.AxisAsync("gantry")).GetProperty("position").GetDouble();
        Assert.Equal(gantry.GetProperty("position").GetDouble(), position, 0.5);
        return position;
    }

    /// <summary>A client with one button that jogs the gantry.</summary>
    private sealed class Panel(DaemonConnection daemon, string token)
    {
        private ulong _press;
        private JogDirection _direction;

        public double Velocity { get; set; } = Slow;

        /// <summary>Presses with a new id, or with the one given; null once it is accepted.</summary>
        public async Task<RpcException?> TryPressAsync(JogDirection direction, ulong? id = null)
        {
            _direction = direction;
            try
            {
                await JogAsync(id ?? ++_press);
                return null;
            }
            catch (RpcException exception)
            {
                return exception;
            }
        }

        /// <summary>Goes on with the last press.</summary>
        public Task<CommandEvent> RefreshAsync() => JogAsync(_press);

        /// <summary>Presses and refreshes until the axis looks like that, and tells where it is then; presses anew when the press lapsed meanwhile.</summary>
        public async Task<double> HoldUntilAsync(TrialMachine trial, JogDirection direction, Func<AxisStatus, bool> condition)
        {
            var position = 0.0;
            var isHeld = false;
            await trial.UntilAsync("the gantry jog", async () =>
            {
                isHeld = isHeld ? (await RefreshAsync()).Ended is null : await TryPressAsync(direction) is null;
                var gantry = (await daemon.Status.GetStatusAsync(new GetStatusRequest())).Status.Axes.First(axis => axis.Name == "gantry");
                position = gantry.Position;
                return condition(gantry);
            });
            return position;
        }

        /// <summary>Lets go of the button; the id of the press.</summary>
        public async Task<ulong> EndAsync()
        {
            await daemon.Motion.EndJogAsync(new EndJogRequest { AuthorityToken = token, PressId = _press });
            return _press;
        }

        /// <summary>Waits without touching the button until the axis rests, then asks how the press ended.</summary>
        public async Task<CommandEnded> SeeEndAsync(TrialMachine trial)
        {
            await SeeAtRestAsync(trial);
            CommandEnded? ended = null;
            await trial.UntilAsync("the end of the jog told", async () => (ended = (await RefreshAsync()).Ended) is not null);
            return ended!;
        }

        private async Task<CommandEvent> JogAsync(ulong id)
        {
            var request = new JogRequest { AuthorityToken = token, Axis = "gantry", PressId = id, Direction = _direction, Velocity = Velocity };
            return (await daemon.Motion.JogAsync(request)).Event;
        }
    }
}
