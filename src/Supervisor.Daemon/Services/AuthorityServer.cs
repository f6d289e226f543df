using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Machine.Api;
using Supervisor.Records.Commands;

namespace Supervisor.Daemon.Services;

/// <summary>Serves the right to command motion: held while a stream is open, lost with it.</summary>
public sealed partial class AuthorityServer(MachineControl control, AuthorityDesk desk, StreamPace pace, ILogger<AuthorityServer> logger)
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
        LogHeld(holder);
        using var ends = CancellationTokenSource.CreateLinkedTokenSource(context.CancellationToken, pace.Ending);
        try
        {
            await responseStream.WriteAsync(new HoldAuthorityResponse { Granted = new AuthorityGranted { AuthorityToken = held.Token } }, ends.Token);
            await StreamPace.WaitAsync(
                held.Released.Task, () => responseStream.WriteAsync(new HoldAuthorityResponse { Heartbeat = new Heartbeat() }, ends.Token), ends.Token);
            LogReleased(holder);
        }
        finally
        {
            // Does nothing when it was given back on purpose.
            if (desk.Release(held.Token, stopAxes: true))
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

    [LoggerMessage(2003, LogLevel.Information, "{Holder} is gone and authority with it; axes that moved are stopped", EventName = "AuthorityLost")]
    private partial void LogLost(string holder);
}
