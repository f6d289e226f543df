using System.Net.Sockets;
using Google.Protobuf.WellKnownTypes;
using Grpc.Core;
using Grpc.Net.Client;
using Supervisor.Api.V1;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>A client that asks for the status as often as it may, and reads none of it.</summary>
internal sealed class StuckReader : IDisposable
{
    /// <summary>Initial window of a stream (RFC 9113, 6.9.2, from memory): so much a server may send that nobody reads, and no more.</summary>
    private const int Window = 65_535;

    private static readonly TimeSpan Interval = TimeSpan.FromMilliseconds(20);

    private readonly GrpcChannel _channel;
    private readonly AsyncServerStreamingCall<WatchStatusResponse> _call;
    private long _received;

    public StuckReader(string socket)
    {
        var handler = new SocketsHttpHandler { InitialHttp2StreamWindowSize = Window, ConnectCallback = (_, cancellation) => ConnectAsync(socket, cancellation) };
        _channel = GrpcChannel.ForAddress("http://localhost", new GrpcChannelOptions { HttpHandler = handler, DisposeHttpClient = true });
        _call = new StatusService.StatusServiceClient(_channel).WatchStatus(new WatchStatusRequest { Interval = Duration.FromTimeSpan(Interval) });
    }

    /// <summary>True once the server can't send another status: less than one is left of the window.</summary>
    public bool IsStuck => Interlocked.Read(ref _received) >= Window;

    public void Dispose()
    {
        _call.Dispose();
        _channel.Dispose();
    }

    private async ValueTask<Stream> ConnectAsync(string path, CancellationToken cancellation)
    {
        var socket = new Socket(AddressFamily.Unix, SocketType.Stream, ProtocolType.Unspecified);
        await socket.ConnectAsync(new UnixDomainSocketEndPoint(path), cancellation);
        return new Counting(this, socket);
    }

    private sealed class Counting(StuckReader reader, Socket socket) : NetworkStream(socket, ownsSocket: true)
    {
        public override async ValueTask<int> ReadAsync(Memory<byte> buffer, CancellationToken cancellationToken = default)
        {
            var read = await base.ReadAsync(buffer, cancellationToken);
            Interlocked.Add(ref reader._received, read);
            return read;
        }
    }
}
