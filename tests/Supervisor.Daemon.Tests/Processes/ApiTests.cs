using Google.Rpc;
using Grpc.Core;
using Grpc.Health.V1;
using Grpc.Reflection.V1;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>The API of a running daemon, as any client meets it.</summary>
[Collection(ProcessTests.Name)]
public sealed class ApiTests
{
    private const int DriveFault = 0x8611;

    private static CancellationToken Cancelled => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Services_OfARunningDaemon_KeepTheirRules()
    {
        await using var trial = await TrialMachine.StartReadyAsync();
        using var daemon = await DaemonConnection.OpenAsync(trial.Socket, Cancelled);

        await HealthIsServing(daemon);
        await ReflectionListsEveryService(daemon);
        await PagesKeepTheirRules(trial, daemon);
        await MotionNeedsAuthority(daemon);
        await OneHoldsAuthority(daemon);
        await CancelledStopIsNotUndone(daemon);
        await BadRequestsAreNamed(daemon);
        await StreamsTellTheSameAsAnAnswer(trial, daemon);
    }

    /// <summary>However many look, whenever they began: each is told of the move and where it came to rest.</summary>
    private static async Task StreamsTellTheSameAsAnAnswer(TrialMachine trial, DaemonConnection daemon)
    {
        var streams = new List<AxisTrace>();
        try
        {
            for (var i = 0; i < 8; i++)
            {
                streams.Add(await AxisTrace.BeginAsync(trial, daemon, "gantry"));
            }

            // It was stopped above, and a stop stands until somebody releases it.
            var released = await trial.RunAsync("release", "gantry");
            Assert.True(released.ExitCode == 0, released.ToString());
            var moved = await trial.RunAsync("move", "gantry", "137");
            Assert.True(moved.ExitCode == 0, moved.ToString());
            var asked = (await daemon.Status.GetStatusAsync(new GetStatusRequest(), cancellationToken: Cancelled)).Status.Axes.Single(axis => axis.Name == "gantry");
            Assert.InRange(asked.Position, 136, 138);
            foreach (var stream in streams)
            {
                await trial.UntilAsync("the end of the move in a stream", () => Task.FromResult(
                    stream.Last is { State: AxisState.Ready, Detail: AxisDetail.Unspecified } last && Math.Abs(last.Position - asked.Position) < 1));
                Assert.Contains(stream.Seen, axis => axis.State == AxisState.Moving);
            }
        }
        finally
        {
            foreach (var stream in streams)
            {
                await stream.DisposeAsync();
            }
        }
    }

    /// <summary>Rules of gRPC health checking, read in the primary text: "" is the whole server; Check of an unknown service is NOT_FOUND.</summary>
    private static async Task HealthIsServing(DaemonConnection daemon)
    {
        var health = new Health.HealthClient(daemon.Channel);
        foreach (var service in (string[])["", "supervisor.v1.StatusService", "supervisor.v1.MotionService", "supervisor.v1.AuthorityService", "supervisor.v1.DriveService", "supervisor.v1.HistoryService"])
        {
            var answer = await health.CheckAsync(new HealthCheckRequest { Service = service }, cancellationToken: Cancelled);
            Assert.Equal(HealthCheckResponse.Types.ServingStatus.Serving, answer.Status);
        }

        var unknown = await Assert.ThrowsAsync<RpcException>(async () => await health.CheckAsync(new HealthCheckRequest { Service = "none" }, cancellationToken: Cancelled));
        Assert.Equal(StatusCode.NotFound, unknown.StatusCode);
    }

    private static async Task ReflectionListsEveryService(DaemonConnection daemon)
    {
        using var call = new ServerReflection.ServerReflectionClient(daemon.Channel).ServerReflectionInfo(cancellationToken: Cancelled);
        await call.RequestStream.WriteAsync(new ServerReflectionRequest { ListServices = "" }, Cancelled);
        Assert.True(await call.ResponseStream.MoveNext(Cancelled));
        var names = call.ResponseStream.Current.ListServicesResponse.Service.Select(service => service.Name).ToArray();
        Assert.Contains("supervisor.v1.MotionService", names);
        Assert.Contains("grpc.health.v1.Health", names);

        await call.RequestStream.WriteAsync(new ServerReflectionRequest { FileContainingSymbol = "supervisor.v1.MotionService" }, Cancelled);
        Assert.True(await call.ResponseStream.MoveNext(Cancelled));
        Assert.NotEmpty(call.ResponseStream.Current.FileDescriptorResponse.FileDescriptorProto);
    }

    /// <summary>Rules of AIP-158, read in the primary text.</summary>
    private static async Task PagesKeepTheirRules(TrialMachine trial, DaemonConnection daemon)
    {
        for (var fault = 1; fault <= 3; fault++)
        {
            trial.Bench($"fault drum 0x{DriveFault:X}");
            await trial.SeeAsync("the drum faulted", status => TrialMachine.Axis(status, "drum").GetProperty("state").GetString() == "Faulted");
            await trial.UntilAsync("the drum reset", async () => (await trial.RunAsync("reset", "drum")).ExitCode == 0);
            await trial.UntilAsync("the fault written", async () => (await ListAsync(daemon, new ListFaultsRequest())).Faults.Count(IsOwn) == fault);
        }

        // A computer that stalls may add warnings of its own to the three, at any time.
        var whole = (await ListAsync(daemon, new ListFaultsRequest { PageSize = int.MaxValue })).Faults;
        Assert.Equal(3, whole.Count(IsOwn));
        var first = await ListAsync(daemon, new ListFaultsRequest { PageSize = 2 });
        Assert.NotEmpty(first.NextPageToken);
        List<long> paged = [.. first.Faults.Select(fault => fault.Sequence)];
        for (var page = first; page.NextPageToken.Length > 0;)
        {
            Assert.Equal(2, page.Faults.Count);
            page = await ListAsync(daemon, new ListFaultsRequest { PageSize = 2, PageToken = page.NextPageToken });
            paged.AddRange(page.Faults.Select(fault => fault.Sequence));
        }

        Assert.Equal(paged.Distinct().OrderDescending(), paged);
        Assert.Equal(whole.Select(fault => fault.Sequence), paged.Where(sequence => sequence <= whole[0].Sequence));

        var drum = (await ListAsync(daemon, new ListFaultsRequest { Axis = "drum" })).Faults;
        Assert.Equal(3, drum.Count(IsOwn));
        Assert.All(drum, fault => Assert.Equal("drum", fault.Axis));
        Assert.All((await ListAsync(daemon, new ListFaultsRequest { Axis = "tray" })).Faults, fault => Assert.Equal("tray", fault.Axis));
        await RefusedAsync(ListAsync(daemon, new ListFaultsRequest { PageSize = -1 }), StatusCode.InvalidArgument, "INVALID_ARGUMENT");
        await RefusedAsync(ListAsync(daemon, new ListFaultsRequest { PageToken = "garbage" }), StatusCode.InvalidArgument, "INVALID_ARGUMENT");
        await RefusedAsync(ListAsync(daemon, new ListFaultsRequest { PageToken = first.NextPageToken, Axis = "drum" }), StatusCode.InvalidArgument, "INVALID_ARGUMENT");
        await RefusedAsync(ListAsync(daemon, new ListFaultsRequest { Axis = "nobody" }), StatusCode.NotFound, "UNKNOWN_AXIS");
    }

    private static async Task MotionNeedsAuthority(DaemonConnection daemon)
    {
        await RefusedAsync(MoveAsync(daemon, "", "gantry", 20), StatusCode.PermissionDenied, "NO_AUTHORITY");
        await RefusedAsync(MoveAsync(daemon, "made up", "gantry", 20), StatusCode.PermissionDenied, "NO_AUTHORITY");
    }

    private static async Task OneHoldsAuthority(DaemonConnection daemon)
    {
        await using var first = await HeldAuthority.TakeAsync(daemon, "first", Cancelled);
        var refused = await RefusedAsync(HeldAuthority.TakeAsync(daemon, "second", Cancelled), StatusCode.PermissionDenied, "AUTHORITY_HELD_BY_ANOTHER");
        Assert.Contains("first", refused.Status.Detail, StringComparison.Ordinal);
        var status = await daemon.Status.GetStatusAsync(new GetStatusRequest(), cancellationToken: Cancelled);
        Assert.Equal("first", status.Status.AuthorityHolder);

        await first.ReleaseAsync(letCommandsFinish: true);
        await using var second = await HeldAuthority.TakeAsync(daemon, "second", Cancelled);
        await RefusedAsync(MoveAsync(daemon, first.Token, "gantry", 20), StatusCode.PermissionDenied, "AUTHORITY_HELD_BY_ANOTHER");
        await second.ReleaseAsync(letCommandsFinish: true);
    }

    private static async Task CancelledStopIsNotUndone(DaemonConnection daemon)
    {
        await using var authority = await HeldAuthority.TakeAsync(daemon, "mover", Cancelled);
        var request = new MoveRequest { AuthorityToken = authority.Token, Targets = { new MoveTarget { Axis = "gantry", Position = 800 } }, Velocity = 50 };
        using var move = daemon.Motion.Move(request, cancellationToken: Cancelled);
        Assert.True(await move.ResponseStream.MoveNext(Cancelled));
        Assert.NotNull(move.ResponseStream.Current.Event.Accepted);

        // Hung up on as soon as it was heard.
        using (var stop = daemon.Motion.Stop(new StopRequest { Axes = { "gantry" } }, cancellationToken: Cancelled))
        {
            Assert.True(await stop.ResponseStream.MoveNext(Cancelled));
        }

        CommandEnded? ended = null;
        while (ended is null && await move.ResponseStream.MoveNext(Cancelled).WaitAsync(Daemon.Patience, Cancelled))
        {
            ended = move.ResponseStream.Current.Event.Ended;
        }

        Assert.Equal(Outcome.Replaced, ended!.Outcome);
        Assert.Equal("STOPPED", ended.Reason);

        // Given back before the next one asks: a stream that is hung up on is seen a moment later.
        await authority.ReleaseAsync(letCommandsFinish: false);
    }

    private static async Task BadRequestsAreNamed(DaemonConnection daemon)
    {
        await using var authority = await HeldAuthority.TakeAsync(daemon, "mover", Cancelled);
        await RefusedAsync(MoveAsync(daemon, authority.Token, "nobody", 1), StatusCode.NotFound, "UNKNOWN_AXIS");
        await RefusedAsync(MoveAsync(daemon, authority.Token, "gantry", double.NaN), StatusCode.InvalidArgument, "INVALID_ARGUMENT");
        await RefusedAsync(MoveAsync(daemon, authority.Token, "gantry", 999_999), StatusCode.OutOfRange, "POSITION_LIMIT");
        var bare = daemon.Motion.Move(new MoveRequest { AuthorityToken = authority.Token }, cancellationToken: Cancelled);
        await RefusedAsync(bare.ResponseStream.MoveNext(Cancelled), StatusCode.InvalidArgument, "INVALID_ARGUMENT");
        await RefusedAsync(HeldAuthority.TakeAsync(daemon, "  ", Cancelled), StatusCode.InvalidArgument, "INVALID_ARGUMENT");
        await authority.ReleaseAsync(letCommandsFinish: true);
    }

    private static async Task<bool> MoveAsync(DaemonConnection daemon, string token, string axis, double position)
    {
        var request = new MoveRequest { AuthorityToken = token, Targets = { new MoveTarget { Axis = axis, Position = position } } };
        using var call = daemon.Motion.Move(request, cancellationToken: Cancelled);
        return await call.ResponseStream.MoveNext(Cancelled);
    }

    /// <summary>Of those that the bench was told to make.</summary>
    private static bool IsOwn(FaultRecord fault) => fault is { Axis: "drum", DriveCode: DriveFault };

    private static async Task<ListFaultsResponse> ListAsync(DaemonConnection daemon, ListFaultsRequest request) =>
        await daemon.History.ListFaultsAsync(request, cancellationToken: Cancelled);

    private static async Task<RpcException> RefusedAsync(Task call, StatusCode code, string reason)
    {
        var exception = await Assert.ThrowsAsync<RpcException>(() => call);
        Assert.Equal(code, exception.StatusCode);
        var info = Assert.Single(exception.GetRpcStatus()!.Details).Unpack<ErrorInfo>();
        Assert.Equal("supervisor.v1", info.Domain);
        Assert.Equal(reason, info.Reason);
        return exception;
    }
}
