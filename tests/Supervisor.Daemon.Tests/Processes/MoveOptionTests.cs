using Supervisor.Api.V1;
using Supervisor.Daemon.Client;
using AxisState = Supervisor.Api.V1.AxisState;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>What each option of <c>move</c> makes the drive do, as its own feedback tells position and velocity together.</summary>
[Collection(ProcessTests.Name)]
public sealed class MoveOptionTests
{
    private static CancellationToken Cancelled => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Options_OfAMove_ShowAtTheDrive()
    {
        await using var trial = await TrialMachine.StartReadyAsync();
        using var daemon = await DaemonConnection.OpenAsync(trial.Socket, Cancelled);

        await DirectionIsTheWayRound(trial, daemon);
        await EndlessRunsUntilItsVerbEnds(trial, daemon);
        await RampIsTheMovesOwn(trial, daemon);
        await ApproachIsSlowBeforeTheTarget(trial, daemon);
        await AfterWaitsForTheRunningMove(trial, daemon);
        await FromHereCountsFromWhereTheAxisIs(trial, daemon);
    }

    /// <summary>From 100 to 300 of 3200 mm: 200 mm the shortest way, 3000 mm the other.</summary>
    private static async Task DirectionIsTheWayRound(TrialMachine trial, DaemonConnection daemon)
    {
        await DoneAsync(trial, "move", "tray", "100");
        await using (var shortest = await AxisTrace.BeginAsync(trial, daemon, "tray"))
        {
            await DoneAsync(trial, "move", "tray", "300", "--velocity", "100");
            Assert.DoesNotContain(shortest.Seen, tray => tray.Velocity < -10);
            Assert.Contains(shortest.Seen, tray => tray.Velocity > 50);
        }

        await DoneAsync(trial, "move", "tray", "100");
        await using var negative = await AxisTrace.BeginAsync(trial, daemon, "tray");
        await DoneAsync(trial, "move", "tray", "300", "--velocity", "250", "--direction", "negative");
        Assert.DoesNotContain(negative.Seen, tray => tray.Velocity > 10);
        Assert.Contains(negative.Seen, tray => tray is { Velocity: < -150, Position: > 1_000 and < 3_000 });
        Assert.Equal(300, negative.Last!.Position, 1.0);
    }

    private static async Task EndlessRunsUntilItsVerbEnds(TrialMachine trial, DaemonConnection daemon)
    {
        await using var trace = await AxisTrace.BeginAsync(trial, daemon, "drum");
        await using var run = trial.Start("move", "drum", "-180", "--endless");

        // Two turns and more: each passes zero once.
        await trial.UntilAsync("the drum turn", () => Task.FromResult(
            trace.Seen.Zip(trace.Seen.Skip(1)).Count(pair => pair.Second.Position > pair.First.Position + 180) >= 3));
        Assert.False(run.HasEnded);
        Assert.InRange(trace.Last!.Velocity, -181, -179);

        run.Signal(Signals.Interrupt);
        var said = await run.EndAsync();
        Assert.True(said.ExitCode == 130, said.ToString());
        Assert.Equal("Ready", (await trial.AxisAsync("drum")).GetProperty("state").GetString());

        // With nobody in charge it would turn for ever.
        Assert.Equal(2, (await trial.RunAsync("move", "drum", "90", "--endless", "--no-wait")).ExitCode);
    }

    /// <summary>Way before the end at speed v with ramp a: v²/2a. 100 mm/s² instead of the axis's 2400 mm/s².</summary>
    private static async Task RampIsTheMovesOwn(TrialMachine trial, DaemonConnection daemon)
    {
        const double ramp = 100;
        await DoneAsync(trial, "move", "gantry", "100");
        await using var trace = await AxisTrace.BeginAsync(trial, daemon, "gantry");
        await DoneAsync(trial, "move", "gantry", "400", "--velocity", "150", "--acceleration", "100", "--deceleration", "100");

        // By the axis's own ramp 50 mm/s leave half a millimetre; feedback is up to a cycle old.
        var gentle = trace.Seen.Where(gantry => gantry.Velocity is > 40 and < 130).ToArray();
        var starting = gentle.Where(gantry => gantry.Position < 250).ToArray();
        var ending = gentle.Where(gantry => gantry.Position > 250).ToArray();
        Assert.NotEmpty(starting);
        Assert.NotEmpty(ending);
        Assert.All(starting, gantry => Assert.Equal(Way(gantry.Velocity), gantry.Position - 100, 15.0));
        Assert.All(ending, gantry => Assert.Equal(Way(gantry.Velocity), 400 - gantry.Position, 15.0));

        static double Way(double velocity) => velocity * velocity / (2 * ramp);
    }

    private static async Task ApproachIsSlowBeforeTheTarget(TrialMachine trial, DaemonConnection daemon)
    {
        await DoneAsync(trial, "move", "gantry", "100");
        await using var trace = await AxisTrace.BeginAsync(trial, daemon, "gantry");
        await DoneAsync(trial, "move", "gantry", "400", "--velocity", "200", "--approach", "20", "--approach-end", "60");

        // A change of speed that comes late makes the slow part shorter: half of it must be left on the busiest machine.
        Assert.Contains(trace.Seen, gantry => gantry.Velocity > 150);
        var slow = trace.Seen.Where(gantry => gantry.Position is > 370 and < 399 && gantry.State == AxisState.Moving).ToArray();
        Assert.NotEmpty(slow);
        Assert.All(slow, gantry => Assert.InRange(gantry.Velocity, 0, 25));
        Assert.DoesNotContain(trace.Seen, gantry => gantry.Position > 400.5);
    }

    private static async Task AfterWaitsForTheRunningMove(TrialMachine trial, DaemonConnection daemon)
    {
        await DoneAsync(trial, "move", "gantry", "100");
        await using var trace = await AxisTrace.BeginAsync(trial, daemon, "gantry");
        await DoneAsync(trial, "move", "gantry", "400", "--velocity", "20", "--no-wait");
        await DoneAsync(trial, "move", "gantry", "300", "--velocity", "200", "--after");

        Assert.Contains(trace.Seen, gantry => Math.Abs(gantry.Position - 400) < 0.5);
        Assert.DoesNotContain(trace.Seen.TakeWhile(gantry => Math.Abs(gantry.Position - 400) >= 0.5), gantry => Math.Abs(gantry.Velocity) > 30);
        Assert.Equal(300, trace.Last!.Position, 0.5);

        // Without it the second move takes the place of the first, which never comes to its target.
        await DoneAsync(trial, "move", "gantry", "400", "--velocity", "5", "--no-wait");
        var before = trace.Seen.Count;
        await DoneAsync(trial, "move", "gantry", "200", "--velocity", "200");
        Assert.DoesNotContain(trace.Seen.Skip(before), gantry => Math.Abs(gantry.Position - 400) < 0.5);
    }

    private static async Task FromHereCountsFromWhereTheAxisIs(TrialMachine trial, DaemonConnection daemon)
    {
        await DoneAsync(trial, "move", "gantry", "100");
        await using var trace = await AxisTrace.BeginAsync(trial, daemon, "gantry");
        await DoneAsync(trial, "move", "gantry", "800", "--velocity", "5", "--no-wait");
        await trial.UntilAsync("the gantry on its way", () => Task.FromResult(trace.Last is { Position: > 102 }));

        // From the last target it would go to 780 mm.
        await DoneAsync(trial, "move", "gantry", "-20", "--from-here", "--velocity", "100");
        var turned = trace.Seen.Max(gantry => gantry.Position);
        Assert.InRange(turned, 102, 500);
        Assert.Equal(turned - 20, trace.Last!.Position, 2.0);
    }

    private static async Task DoneAsync(TrialMachine trial, params string[] arguments)
    {
        var said = await trial.RunAsync(arguments);
        Assert.True(said.ExitCode == 0, said.ToString());
    }
}
