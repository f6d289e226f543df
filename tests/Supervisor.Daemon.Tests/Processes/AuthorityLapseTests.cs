using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>A client that is alive on the wire but whose program hangs, and one that hangs whole, while an axis moves.</summary>
[Collection(ProcessTests.Name)]
public sealed class AuthorityLapseTests
{
    private static CancellationToken Cancelled => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Holder_ThatDoesNotRefresh_LosesAuthorityAndItsAxisStops()
    {
        await using var trial = await TrialMachine.StartReadyAsync(text => text.Replace(
            "\"machine\":", "\"authority\": { \"refreshWithinMs\": 1500 },\n  \"machine\":", StringComparison.Ordinal));
        using var daemon = await DaemonConnection.OpenAsync(trial.Socket, Cancelled);
        using var held = daemon.Authority.HoldAuthority(new HoldAuthorityRequest { Holder = "a panel that hangs" }, cancellationToken: Cancelled);
        Assert.True(await held.ResponseStream.MoveNext(Cancelled));
        var granted = held.ResponseStream.Current.Granted;
        Assert.Equal(1500, granted.RefreshWithinMs);

        using var move = daemon.Motion.Move(
            new MoveRequest { AuthorityToken = granted.AuthorityToken, Velocity = 50, Targets = { new MoveTarget { Axis = "gantry", Position = 800 } } }, cancellationToken: Cancelled);
        Assert.True(await move.ResponseStream.MoveNext(Cancelled));

        var lost = await Assert.ThrowsAsync<RpcException>(async () =>
        {
            while (await held.ResponseStream.MoveNext(Cancelled))
            {
            }
        });
        Assert.Equal(StatusCode.Aborted, lost.StatusCode);
        await trial.SeeAsync("the gantry at rest", status => TrialMachine.Axis(status, "gantry").GetProperty("state").GetString() == "Ready");
        Assert.InRange((await trial.AxisAsync("gantry")).GetProperty("position").GetDouble(), 0, 700);

        // The verbs refresh by themselves: a move longer than the time ends well.
        var said = await trial.RunAsync("move", "gantry", "0", "--velocity", "40");
        Assert.True(said.ExitCode == 0, said.ToString());
    }

    [Fact]
    public async Task Holder_StoppedLikeAHungProgram_LosesAuthorityAndItsAxisStops()
    {
        await using var trial = await TrialMachine.StartReadyAsync();
        await using var move = trial.Start("move", "gantry", "800", "--velocity", "20");
        await trial.SeeAsync("the gantry move", status => TrialMachine.Axis(status, "gantry").GetProperty("state").GetString() == "Moving");

        move.Signal(Signals.Suspend);

        await trial.SeeAsync("nobody hold authority", status => status.GetProperty("authority").ValueKind == System.Text.Json.JsonValueKind.Null);
        await trial.SeeAsync("the gantry at rest", status => TrialMachine.Axis(status, "gantry").GetProperty("state").GetString() == "Ready");
        Assert.InRange((await trial.AxisAsync("gantry")).GetProperty("position").GetDouble(), 0, 700);
    }
}
