using System.Globalization;
using System.Runtime.Versioning;
using Supervisor.Api.V1;
using Supervisor.Benchmarks.Peers;
using Supervisor.Daemon.Client;

namespace Supervisor.Benchmarks.Served;

/// <summary>A whole machine: the daemon in one process, its drives in another, every axis energised and moving without end by the API.</summary>
[SupportedOSPlatform("linux")]
internal sealed class ServedMachine : IAsyncDisposable
{
    /// <summary>What a line of 1 Mbaud with proportional gap carries in 20 ms.</summary>
    public const int AxesOfAPort = 16;

    private const int Attempts = 5;
    private const double Velocity = 100;
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(60);
    private static readonly TimeSpan LookInterval = TimeSpan.FromMilliseconds(100);
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("benchmark-");
    private PeerProcess? _drives;
    private PeerProcess? _daemon;
    private DaemonConnection? _connection;
    private HeldAuthority? _authority;

    private ServedMachine()
    {
    }

    /// <summary>The daemon's process.</summary>
    public PeerProcess Daemon => _daemon!;

    /// <summary>Where its API is.</summary>
    public string Socket => Path.Combine(_folder.FullName, "api.sock");

    /// <summary>Ports that so many axes take.</summary>
    public static int PortsFor(int axes) => (axes + AxesOfAPort - 1) / AxesOfAPort;

    /// <summary>Starts it all, and returns once every axis moves.</summary>
    /// <param name="axes">At most four ports of <see cref="AxesOfAPort"/> each.</param>
    public static async Task<ServedMachine> StartAsync(int axes)
    {
        var machine = new ServedMachine();
        try
        {
            await machine.BringUpAsync(axes);
            return machine;
        }
        catch
        {
            await machine.DisposeAsync();
            throw;
        }
    }

    /// <summary>Processor time of the daemon's threads whose names begin so, since they were made; all of them for an empty name.</summary>
    public TimeSpan Processor(params string[] names)
    {
        var nanoseconds = 0L;
        foreach (var thread in Directory.EnumerateDirectories($"/proc/{Daemon.Id}/task"))
        {
            try
            {
                var name = File.ReadAllText(Path.Combine(thread, "comm"));
                if (names.Length == 0 || Array.Exists(names, wanted => name.StartsWith(wanted, StringComparison.Ordinal)))
                {
                    // Time on the processor, then waiting for it, in nanoseconds (kernel documentation, scheduler/sched-stats).
                    nanoseconds += long.Parse(File.ReadAllText(Path.Combine(thread, "schedstat")).Split(' ')[0], CultureInfo.InvariantCulture);
                }
            }
            catch (IOException)
            {
                // A thread of the pool that has ended meanwhile.
            }
        }

        return TimeSpan.FromTicks(nanoseconds / 100);
    }

    /// <summary>The status as clients see it.</summary>
    public async Task<MachineStatus> StatusAsync() => (await _connection!.Status.GetStatusAsync(new GetStatusRequest())).Status;

    public async ValueTask DisposeAsync()
    {
        await (_authority?.DisposeAsync() ?? ValueTask.CompletedTask);
        _connection?.Dispose();
        _daemon?.Dispose();
        _drives?.Dispose();
        _folder.Delete(recursive: true);
    }

    private async Task BringUpAsync(int axes)
    {
        File.Copy(Path.Combine(AppContext.BaseDirectory, "demo", "reference.drive.json"), Path.Combine(_folder.FullName, "reference.drive.json"));
        var file = Path.Combine(_folder.FullName, "machine.json");
        await File.WriteAllTextAsync(file, MachineText(axes, _folder.FullName));
        _drives = PeerProcess.Self(ServedDrives.Option, file, _folder.FullName);
        Expect("ready", _drives.Read());
        _daemon = PeerProcess.Self(ServedDaemon.Option, file, Socket, Path.Combine(_folder.FullName, "state"));
        Expect("ready", _daemon.Read());
        _connection = await DaemonConnection.OpenAsync(Socket, CancellationToken.None);
        _authority = await HeldAuthority.TakeAsync(_connection, "benchmark", CancellationToken.None);
        var begun = TimeProvider.System.GetTimestamp();
        while ((await StatusAsync()).Axes is var seen && seen.Any(axis => !axis.Online))
        {
            if (TimeProvider.System.GetElapsedTime(begun) > Patience)
            {
                throw new InvalidOperationException($"not met within {Patience.TotalSeconds:0} s: {string.Join(", ", seen.Where(axis => !axis.Online).Select(axis => axis.Name))}");
            }

            await Task.Delay(LookInterval);
        }

        await MoveAllAsync(axes, _connection.Motion, _authority.Token);
    }

    private static void Expect(string wanted, string told)
    {
        if (!told.StartsWith(wanted, StringComparison.Ordinal))
        {
            throw new InvalidOperationException($"'{wanted}' was waited for, told was: {told}");
        }
    }

    /// <summary>A computer that stalls may fault an axis; then it is reset and tried again.</summary>
    private static async Task MoveAllAsync(int axes, MotionService.MotionServiceClient motion, string token)
    {
        var none = CancellationToken.None;
        for (var attempt = 1; ; attempt++)
        {
            await CommandRun.FollowAsync(motion.Reset(new ResetRequest { AuthorityToken = token }), answer => answer.Event, wait: true, none);
            var last = await CommandRun.FollowAsync(motion.Enable(new EnableRequest { AuthorityToken = token }), answer => answer.Event, wait: true, none);
            for (var axis = 1; axis <= axes && last.IsGood; axis++)
            {
                var request = new MoveRequest { AuthorityToken = token, Targets = { new MoveTarget { Axis = $"axis {axis}", EndlessVelocity = Velocity } } };
                last = await CommandRun.FollowAsync(motion.Move(request), answer => answer.Event, wait: false, none);
            }

            if (last.IsGood)
            {
                return;
            }

            if (attempt == Attempts)
            {
                throw new InvalidOperationException($"the axes do not move: {Supervisor.Daemon.Demo.DemoOperator.Words(last)}");
            }

            await Task.Delay(TimeSpan.FromSeconds(1));
        }
    }

    // Waits are long and lost replies stop no axis, so that a computer that stalls does not end the run.
    private static string MachineText(int axes, string folder)
    {
        var ports = Enumerable.Range(1, PortsFor(axes)).Select(port => $$"""
            { "name": "line {{port}}", "device": "{{folder}}/line {{port}}", "baud": 1000000, "parity": "none", "stopBits": 1, "cycleMs": 20, "gap": "proportional", "responseTimeoutMs": 15, "retries": 1,
              "errorRate": { "warningPercent": 99, "faultPercent": 100 } }
            """);
        var all = Enumerable.Range(0, axes).Select(axis => $$"""
            { "name": "axis {{axis + 1}}", "port": "line {{(axis / AxesOfAPort) + 1}}", "address": {{(axis % AxesOfAPort) + 1}}, "definition": "reference.drive.json",
              "unit": "mm", "countsPerUnit": 100, "endless": { "period": 10000 }, "limits": { "velocity": 400, "acceleration": 4000, "deceleration": 4000 },
              "inPosition": { "window": 1, "dwellMs": 5 }, "reference": "none", "communicationTimeoutMs": 20000 }
            """);
        return $$"""{ "machine": { "name": "Carriers" }, "ports": [ {{string.Join(", ", ports)}} ], "axes": [ {{string.Join(", ", all)}} ], "interlocks": [] }""";
    }
}
