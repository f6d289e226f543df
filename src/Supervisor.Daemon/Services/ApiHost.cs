using Grpc.HealthCheck;
using Grpc.Reflection;
using Microsoft.AspNetCore.Server.Kestrel.Core;
using Serilog;
using Supervisor.Api.V1;
using Supervisor.Bus;
using Supervisor.Daemon.Hosting;
using Supervisor.Daemon.Memories;
using Supervisor.Daemon.Messages;
using Supervisor.History;
using Supervisor.History.Recordings.Cutting;
using Supervisor.Machine.Api;
using ILogger = Serilog.ILogger;

namespace Supervisor.Daemon.Services;

/// <summary>The gRPC server on its Unix socket. It starts and ends when told and handles no signals: the supervision decides.</summary>
public sealed class ApiHost : IAsyncDisposable
{
    // A holder of authority that stopped answering, though its socket is still open, has lost it after their sum.
    private static readonly TimeSpan PingDelay = TimeSpan.FromSeconds(3);
    private static readonly TimeSpan PingTimeout = TimeSpan.FromSeconds(5);
    private static readonly TimeSpan StopTimeout = TimeSpan.FromSeconds(2);

    private readonly WebApplication _app;
    private readonly StreamPace _pace;
    private readonly HealthServiceImpl _health;

    private ApiHost(WebApplication app, StreamPace pace, HealthServiceImpl health)
    {
        _app = app;
        _pace = pace;
        _health = health;
    }

    /// <summary>Starts to serve.</summary>
    /// <param name="socketPath">Path of the socket; no file may be there.</param>
    /// <param name="control">The machine.</param>
    /// <param name="history">What was and is recorded.</param>
    /// <param name="loads">Loads of parameters that were begun.</param>
    /// <param name="proofs">Proofs of communication time-outs.</param>
    /// <param name="alarms">What keeps the alarms.</param>
    /// <param name="traces">The axes' samples.</param>
    /// <param name="messenger">Messages to people.</param>
    /// <param name="logger">Where to log; not disposed here.</param>
    /// <exception cref="IOException">The socket can't be made.</exception>
    public static async Task<ApiHost> StartAsync(
        string socketPath, MachineControl control, HistoryStore history, UnfinishedLoads loads, TimeoutProofs proofs, AlarmKeeper alarms, RecorderPlan traces, Messenger messenger,
        ILogger logger)
    {
        ArgumentNullException.ThrowIfNull(control);
        var pace = new StreamPace();
        var health = new HealthServiceImpl();
        var builder = WebApplication.CreateSlimBuilder(new WebApplicationOptions { ContentRootPath = AppContext.BaseDirectory, Args = [] });

        // Settings in the environment (such as ASPNETCORE_URLS) must not open a TCP port.
        builder.Configuration.Sources.Clear();
        builder.WebHost.ConfigureKestrel(kestrel =>
        {
            kestrel.AddServerHeader = false;
            kestrel.Limits.Http2.KeepAlivePingDelay = PingDelay;
            kestrel.Limits.Http2.KeepAlivePingTimeout = PingTimeout;
            kestrel.ListenUnixSocket(socketPath, listen => listen.Protocols = HttpProtocols.Http2);
        });
        AddServices(builder.Services, control, history, loads, proofs, alarms, traces, messenger, logger, pace, health);
        var app = builder.Build();
        app.MapGrpcService<StatusServer>();
        app.MapGrpcService<AuthorityServer>();
        app.MapGrpcService<MotionServer>();
        app.MapGrpcService<DriveServer>();
        app.MapGrpcService<HistoryServer>();
        app.MapGrpcService<RecordServer>();
        app.MapGrpcService<TraceServer>();
        app.MapGrpcService<StatisticsServer>();
        app.MapGrpcService<SignalServer>();
        app.MapGrpcService<AlarmServer>();
        app.MapGrpcService<MessageServer>();
        app.MapGrpcService<HealthServiceImpl>();
        app.MapGrpcService<ReflectionV1ServiceImpl>();
        app.MapGrpcService<ReflectionServiceImpl>();
        var host = new ApiHost(app, pace, health);
        host.SetServing(false);
        try
        {
            await app.StartAsync();
            return host;
        }
        catch
        {
            await host.DisposeAsync();
            throw;
        }
    }

    /// <summary>What the health service answers, for the whole server ("") and for each service.</summary>
    public void SetServing(bool serving)
    {
        var status = serving ? Grpc.Health.V1.HealthCheckResponse.Types.ServingStatus.Serving : Grpc.Health.V1.HealthCheckResponse.Types.ServingStatus.NotServing;
        _health.SetStatus("", status);
        foreach (var service in ServedServices())
        {
            _health.SetStatus(service.FullName, status);
        }
    }

    /// <summary>Ends all streams, then the server. What was asked of it is recorded by then.</summary>
    public async Task StopAsync()
    {
        SetServing(false);
        _pace.End();
        using var limit = new CancellationTokenSource(StopTimeout);
        await _app.StopAsync(limit.Token);
        await _app.Services.GetRequiredService<LoadDiary>().EndedAsync();
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        await _app.DisposeAsync();
        _pace.Dispose();
    }

    internal static IReadOnlyList<Google.Protobuf.Reflection.ServiceDescriptor> ServedServices() =>
    [
        StatusService.Descriptor, AuthorityService.Descriptor, MotionService.Descriptor, DriveService.Descriptor, HistoryService.Descriptor, RecordService.Descriptor,
        TraceService.Descriptor, StatisticsService.Descriptor, SignalService.Descriptor, AlarmService.Descriptor, MessageService.Descriptor,
    ];

    private static void AddServices(
        IServiceCollection services, MachineControl control, HistoryStore history, UnfinishedLoads loads, TimeoutProofs proofs, AlarmKeeper alarms, RecorderPlan traces, Messenger messenger,
        ILogger logger, StreamPace pace, HealthServiceImpl health)
    {
        Google.Protobuf.Reflection.ServiceDescriptor[] described = [.. ServedServices(), Grpc.Health.V1.Health.Descriptor];
        services.AddSingleton<IHostLifetime, NoSignals>();
        services.AddSerilog(logger, dispose: false);
        services.AddGrpc(options => options.Interceptors.Add<ErrorInterceptor>());
        services.AddSingleton(control);
        services.AddSingleton(control.Machine);
        services.AddSingleton(history);
        services.AddSingleton(history.Reader);
        services.AddSingleton(history.Recordings);
        services.AddSingleton(traces);
        services.AddSingleton<RecordingDesk>();
        services.AddSingleton<StatusDesk>();
        services.AddSingleton(messenger);
        services.AddSingleton<TrialPace>();
        services.AddSingleton(loads);
        services.AddSingleton(proofs);
        services.AddSingleton(alarms);
        services.AddSingleton<LoadDiary>();
        services.AddSingleton(pace);
        services.AddSingleton(health);
        services.AddSingleton(MonotonicClock.System);
        services.AddSingleton<AuthorityDesk>();
        services.AddSingleton<JogDesk>();
        services.AddSingleton<ErrorInterceptor>();

        // Made from the descriptors themselves: finding them by their services' types would not survive ahead-of-time compilation.
        services.AddSingleton(new ReflectionV1ServiceImpl(described));
        services.AddSingleton(new ReflectionServiceImpl(described));
    }

    /// <summary>Leaves signals to the caller: a default host would wait for open streams before anything stops.</summary>
    private sealed class NoSignals : IHostLifetime
    {
        public Task WaitForStartAsync(CancellationToken cancellationToken) => Task.CompletedTask;

        public Task StopAsync(CancellationToken cancellationToken) => Task.CompletedTask;
    }
}
