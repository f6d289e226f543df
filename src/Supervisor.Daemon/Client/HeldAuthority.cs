using Grpc.Core;
using Supervisor.Api.V1;

namespace Supervisor.Daemon.Client;

/// <summary>Authority held by this process. Disposing it without a release loses it, as dying would: axes that move are stopped.</summary>
public sealed class HeldAuthority : IAsyncDisposable
{
    private static readonly TimeSpan ReleaseTimeout = TimeSpan.FromSeconds(5);

    private readonly DaemonConnection _daemon;
    private readonly AsyncServerStreamingCall<HoldAuthorityResponse> _stream;
    private readonly Task _listening;

    private HeldAuthority(DaemonConnection daemon, AsyncServerStreamingCall<HoldAuthorityResponse> stream, string token)
    {
        _daemon = daemon;
        _stream = stream;
        Token = token;
        _listening = ListenAsync(stream);
    }

    /// <summary>Names the grant in motion requests.</summary>
    public string Token { get; }

    /// <summary>Takes authority.</summary>
    /// <exception cref="RpcException">Refused, such as AUTHORITY_HELD_BY_ANOTHER.</exception>
    public static async Task<HeldAuthority> TakeAsync(DaemonConnection daemon, string holder, CancellationToken cancellation)
    {
        ArgumentNullException.ThrowIfNull(daemon);
        var stream = daemon.Authority.HoldAuthority(new HoldAuthorityRequest { Holder = holder }, cancellationToken: CancellationToken.None);
        try
        {
            while (await stream.ResponseStream.MoveNext(cancellation))
            {
                if (stream.ResponseStream.Current.Granted is { } granted)
                {
                    return new HeldAuthority(daemon, stream, granted.AuthorityToken);
                }
            }

            throw new RpcException(new Status(StatusCode.Unavailable, "the daemon ended the stream before it granted authority"));
        }
        catch
        {
            stream.Dispose();
            throw;
        }
    }

    /// <summary>Gives it back on purpose.</summary>
    /// <param name="letCommandsFinish">True: what was accepted runs on.</param>
    public async Task ReleaseAsync(bool letCommandsFinish)
    {
        var request = new ReleaseAuthorityRequest { AuthorityToken = Token, LetCommandsFinish = letCommandsFinish };
        await _daemon.Authority.ReleaseAuthorityAsync(request, deadline: DateTime.UtcNow + ReleaseTimeout);
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        _stream.Dispose();
        await _listening;
    }

    /// <summary>Reads heartbeats away; when the daemon is lost, the command's own stream tells it.</summary>
    private static async Task ListenAsync(AsyncServerStreamingCall<HoldAuthorityResponse> stream)
    {
        try
        {
            while (await stream.ResponseStream.MoveNext(CancellationToken.None))
            {
            }
        }
        catch (RpcException)
        {
        }
    }
}
