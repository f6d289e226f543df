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
    private readonly Task _refreshing;
    private readonly CancellationTokenSource _ended = new();

    private HeldAuthority(DaemonConnection daemon, AsyncServerStreamingCall<HoldAuthorityResponse> stream, string token, int refreshWithinMs)
    {
        _daemon = daemon;
        _stream = stream;
        Token = token;
        _listening = ListenAsync(stream);
        _refreshing = refreshWithinMs > 0 ? RefreshAsync(TimeSpan.FromMilliseconds(refreshWithinMs / 3.0)) : Task.CompletedTask;
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
                    return new HeldAuthority(daemon, stream, granted.AuthorityToken, granted.RefreshWithinMs);
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
        await _ended.CancelAsync();
        _stream.Dispose();
        await _listening;
        await _refreshing;
        _ended.Dispose();
    }

    private async Task RefreshAsync(TimeSpan interval)
    {
        var request = new RefreshAuthorityRequest { AuthorityToken = Token };
        try
        {
            while (true)
            {
                await Task.Delay(interval, _ended.Token);
                await _daemon.Authority.RefreshAuthorityAsync(request, cancellationToken: _ended.Token);
            }
        }
        catch (Exception exception) when (exception is RpcException or OperationCanceledException)
        {
            // Lost or given back: the command's own stream tells it.
        }
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
