using System.Net.Sockets;
using Grpc.Net.Client;
using Supervisor.Api.V1;
using Supervisor.Daemon.Hosting;

namespace Supervisor.Daemon.Client;

/// <summary>A running daemon, spoken to over its Unix socket.</summary>
public sealed class DaemonConnection : IDisposable
{
    private DaemonConnection(string path)
    {
        SocketPath = path;
        var handler = new SocketsHttpHandler { ConnectCallback = (_, cancellation) => ConnectAsync(path, cancellation) };

        // The name is never looked up: the callback above connects.
        Channel = GrpcChannel.ForAddress("http://localhost", new GrpcChannelOptions { HttpHandler = handler, DisposeHttpClient = true });
        Status = new StatusService.StatusServiceClient(Channel);
        Authority = new AuthorityService.AuthorityServiceClient(Channel);
        Motion = new MotionService.MotionServiceClient(Channel);
        Drive = new DriveService.DriveServiceClient(Channel);
        History = new HistoryService.HistoryServiceClient(Channel);
        Records = new RecordService.RecordServiceClient(Channel);
        Trace = new TraceService.TraceServiceClient(Channel);
        Alarms = new AlarmService.AlarmServiceClient(Channel);
        Statistics = new StatisticsService.StatisticsServiceClient(Channel);
        Signals = new SignalService.SignalServiceClient(Channel);
        Messages = new MessageService.MessageServiceClient(Channel);
    }

    /// <summary>Path of the socket.</summary>
    public string SocketPath { get; }

    /// <summary>For services that are not the supervisor's own, such as health.</summary>
    public GrpcChannel Channel { get; }

    public StatusService.StatusServiceClient Status { get; }

    public AuthorityService.AuthorityServiceClient Authority { get; }

    public MotionService.MotionServiceClient Motion { get; }

    public DriveService.DriveServiceClient Drive { get; }

    public HistoryService.HistoryServiceClient History { get; }

    public RecordService.RecordServiceClient Records { get; }

    public TraceService.TraceServiceClient Trace { get; }

    public StatisticsService.StatisticsServiceClient Statistics { get; }

    public SignalService.SignalServiceClient Signals { get; }

    public AlarmService.AlarmServiceClient Alarms { get; }

    public MessageService.MessageServiceClient Messages { get; }

    /// <summary>Connects.</summary>
    /// <param name="server">Socket as the user named it; null: by the environment or the usual places.</param>
    /// <param name="cancellation">Gives up.</param>
    /// <exception cref="DaemonNotReachedException">No daemon answers; the message says where it was looked for and what to do.</exception>
    public static async Task<DaemonConnection> OpenAsync(string? server, CancellationToken cancellation)
    {
        var path = SocketPaths.ForClient(server) ?? throw new DaemonNotReachedException(
            $"no daemon found at {string.Join(", ", SocketPaths.Candidates())}; start one with `serve` or `demo`, or name its socket with --server");
        await ProbeAsync(path, cancellation);
        return new DaemonConnection(path);
    }

    /// <inheritdoc/>
    public void Dispose() => Channel.Dispose();

    private static async Task ProbeAsync(string path, CancellationToken cancellation)
    {
        try
        {
            await using var stream = await ConnectAsync(path, cancellation);
        }
        catch (Exception exception) when (exception is SocketException or ArgumentOutOfRangeException)
        {
            var why = exception is SocketException socket ? Words(socket, path) : "too long for a socket's path";
            throw new DaemonNotReachedException($"no daemon answers at {path} ({why}); start one with `serve`, or name its socket with --server", exception);
        }
    }

    private static string Words(SocketException exception, string path) => exception.SocketErrorCode switch
    {
        SocketError.ConnectionRefused => "it has ended and left its socket behind",
        SocketError.AccessDenied => "this user may not use it; it takes the daemon's group",
        _ when !File.Exists(path) => "there is no such socket",
        _ => exception.Message,
    };

    private static async ValueTask<Stream> ConnectAsync(string path, CancellationToken cancellation)
    {
        var socket = new Socket(AddressFamily.Unix, SocketType.Stream, ProtocolType.Unspecified);
        try
        {
            await socket.ConnectAsync(new UnixDomainSocketEndPoint(path), cancellation);
            return new NetworkStream(socket, ownsSocket: true);
        }
        catch
        {
            socket.Dispose();
            throw;
        }
    }
}
