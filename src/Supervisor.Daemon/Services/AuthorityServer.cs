using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Bus;
using Supervisor.Machine.Api;
using Supervisor.Records.Commands;

namespace Supervisor.Daemon.Services;

/// <summary>Serves the right to command motion: held while a stream is open, lost with it.</summary>
public sealed partial class AuthorityServer(MachineControl control, AuthorityDesk desk, StreamPace pace, IMonotonicClock clock, ILogger<AuthorityServer> logger)
    : AuthorityService.AuthorityServiceBase
{
    private const int LongestHolder = 80;

    /// <inheritdoc/>
    public override async Task HoldAuthority(HoldAuthorityRequest request, IServerStreamWriter<HoldAuthorityResponse> responseStream, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        ArgumentNullException.ThrowIfNull(responseStream);
        ArgumentNullException.ThrowIfNull(context);
        var holder = Holder(request.Holder);
        var grant = control.TryAcquire(holder, out var refusal) ?? throw ApiErrors.From(refusal!, control.Machine);
        var held = desk.Add(grant);
        grant.Refresh(clock.Now);
        LogHeld(holder);
        using var ends = CancellationTokenSource.CreateLinkedTokenSource(context.CancellationToken, pace.Ending);
        try
        {
            await responseStream.WriteAsync(new HoldAuthorityResponse { Granted = Granted(held.Token) }, ends.Token);
            var lapsed = grant.Lapsed.ContinueWith(_ => false, CancellationToken.None, TaskContinuationOptions.ExecuteSynchronously, TaskScheduler.Default);
            var isReleased = await StreamPace.WaitAsync(
                Task.WhenAny(held.Released.Task, lapsed).Unwrap(), () => responseStream.WriteAsync(new HoldAuthorityResponse { Heartbeat = new Heartbeat() }, ends.Token), ends.Token);
            if (!isReleased)
            {
                throw ApiErrors.Refuse(
                    Refusal.AuthorityLost, $"authority was not refreshed within {control.Machine.Authority.RefreshWithin!.Value.TotalSeconds:0.#} s and is lost: take it anew", "authority_token");
            }

            LogReleased(holder);
        }
        finally
        {
            // Does nothing when it was given back on purpose; what becomes of its motion is the machine file's.
            if (desk.Lose(held.Token))
            {
                LogLost(holder);
            }
        }
    }

    /// <inheritdoc/>
    public override Task<ReleaseAuthorityResponse> ReleaseAuthority(ReleaseAuthorityRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        return desk.Release(request.AuthorityToken, stopAxes: !request.LetCommandsFinish)
            ? Task.FromResult(new ReleaseAuthorityResponse())
            : throw ApiErrors.Refuse(Refusal.NoAuthority, "this token holds no authority, or no longer", "authority_token");
    }

    /// <inheritdoc/>
    public override Task<RefreshAuthorityResponse> RefreshAuthority(RefreshAuthorityRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        if (desk.Find(request.AuthorityToken) is not { } grant)
        {
            throw ApiErrors.Refuse(Refusal.NoAuthority, "this token holds no authority, or no longer", "authority_token");
        }

        grant.Refresh(clock.Now);
        return Task.FromResult(new RefreshAuthorityResponse());
    }

    private AuthorityGranted Granted(string token)
    {
        var granted = new AuthorityGranted { AuthorityToken = token };
        if (control.Machine.Authority.RefreshWithin is { } within)
        {
            granted.RefreshWithinMs = (int)within.TotalMilliseconds;
        }

        return granted;
    }

    private static string Holder(string asked)
    {
        var holder = asked.Trim();
        return holder.Length is > 0 and <= LongestHolder && !holder.Any(char.IsControl)
            ? holder
            : throw ApiErrors.Refuse(Refusal.InvalidArgument, $"holder must be a name of 1 to {LongestHolder} characters: it is shown to others", "holder");
    }

    [LoggerMessage(2001, LogLevel.Information, "Authority is held by {Holder}", EventName = "AuthorityHeld")]
    private partial void LogHeld(string holder);

    [LoggerMessage(2002, LogLevel.Information, "{Holder} gave authority back", EventName = "AuthorityReleased")]
    private partial void LogReleased(string holder);

    [LoggerMessage(2003, LogLevel.Information, "{Holder} is gone and authority with it; what it moved goes on or stops as the machine file says", EventName = "AuthorityLost")]
    private partial void LogLost(string holder);
}
