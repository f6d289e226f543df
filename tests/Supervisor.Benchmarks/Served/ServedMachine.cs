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
    private readonly DirectoryInfo _folder;
    private readonly PeerProcess _drives;
    private readonly DaemonConnection _connection;
    private readonly HeldAuthority _authority;

    private ServedMachine(DirectoryInfo folder, PeerProcess drives, PeerProcess daemon, DaemonConnection connection, HeldAuthority authority)
    {
        (_folder, _drives, Daemon, _connection, _authority) = (folder, drives, daemon, connection, authority);
    }

    /// <summary>The daemon's process.</summary>
    public PeerProcess Daemon { get; }

    public string Socket => SocketIn(_folder);

    /// <summary>Ports that so many axes take.</summary>
    public static int PortsFor(int axes) => (axes + AxesOfAPort - 1) / AxesOfAPort;

    /// <summary>Starts it all, and returns once every axis moves.</summary>
    /// <param name="axes">At most four ports of <see cref="AxesOfAPort"/> each.</param>
    public static async Task<ServedMachine> StartAsync(int axes)
    {
        var folder = Directory.CreateTempSubdirectory("benchmark-");
        File.Copy(Path.Combine(AppContext.BaseDirectory, "demo", "reference.drive.json"), Path.Combine(folder.FullName, "reference.drive.json"));
        var file = Path.Combine(folder.FullName, "machine.json");
        await File.WriteAllTextAsync(file, MachineText(axes, folder.FullName));
        var drives = PeerProcess.Self(ServedDrives.Option, file, folder.FullName);
        Expect("ready", drives.Read());
        var daemon = PeerProcess.Self(ServedDaemon.Option, file, SocketIn(folder), Path.Combine(folder.FullName, "state"));
        Expect("ready", daemon.Read());
        var connection = await DaemonConnection.OpenAsync(SocketIn(folder), CancellationToken.None);
        var authority = await HeldAuthority.TakeAsync(connection, "benchmark", CancellationToken.None);
        var machine = new ServedMachine(folder, drives, daemon, connection, authority);
        await machine.MoveAllAsync(axes);
        return machine;
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
    public async Task<MachineStatus> StatusAsync() => (await _connection.Status.GetStatusAsync(new GetStatusRequest())).Status;

    public async ValueTask DisposeAsync()
    {
        await _authority.DisposeAsync();
        _connection.Dispose();
        Daemon.Dispose();
        _drives.Dispose();
        _folder.Delete(recursive: true);
    }

    private static string SocketIn(DirectoryInfo folder) => Path.Combine(folder.FullName, "api.sock");

    private static void Expect(string wanted, string told)
    {
        if (!told.StartsWith(wanted, StringComparison.Ordinal))
        {
            throw new InvalidOperationException($"'{wanted}' was waited for, told was: {told}");
        }
    }

    /// <summary>A computer that stalls may fault an axis; then it is reset and tried again.</summary>
    private async Task MoveAllAsync(int axes)
    {
        var none = CancellationToken.None;
        for (var attempt = 1; ; attempt++)
        {
            await CommandRun.FollowAsync(_connection.Motion.Reset(new ResetRequest { AuthorityToken = _authority.Token }), answer => answer.Event, wait: true, none);
            var enabled = await CommandRun.FollowAsync(
                _connection.Motion.Enable(new EnableRequest { AuthorityToken = _authority.Token }), answer => answer.Event, wait: true, none);
            var moving = enabled;
            for (var axis = 1; axis <= axes && moving.IsGood; axis++)
            {
                var request = new MoveRequest { AuthorityToken = _authority.Token, Targets = { new MoveTarget { Axis = $"axis {axis}", EndlessVelocity = Velocity } } };
                moving = await CommandRun.FollowAsync(_connection.Motion.Move(request), answer => answer.Event, wait: false, none);
            }

            if (moving.IsGood)
            {
                return;
            }

            if (attempt == Attempts)
            {
                throw new InvalidOperationException($"the axes do not move: {Supervisor.Daemon.Demo.DemoOperator.Words(moving)}");
            }
        }
    }

    // Waits are long, so that a computer that stalls does not end the run.
    private static string MachineText(int axes, string folder)
    {
        var ports = Enumerable.Range(1, PortsFor(axes)).Select(port => $$"""
            { "name": "line {{port}}", "device": "{{folder}}/line {{port}}", "baud": 1000000, "parity": "none", "stopBits": 1, "cycleMs": 20, "gap": "proportional", "responseTimeoutMs": 15, "retries": 1 }
            """);
        var all = Enumerable.Range(0, axes).Select(axis => $$"""
            { "name": "axis {{axis + 1}}", "port": "line {{(axis / AxesOfAPort) + 1}}", "address": {{(axis % AxesOfAPort) + 1}}, "definition": "reference.drive.json",
              "unit": "mm", "countsPerUnit": 100, "endless": { "period": 10000 }, "limits": { "velocity": 400, "acceleration": 4000, "deceleration": 4000 },
              "inPosition": { "window": 1, "dwellMs": 5 }, "reference": "none", "communicationTimeoutMs": 20000 }
            """);
        return $$"""{ "machine": { "name": "Carriers" }, "ports": [ {{string.Join(", ", ports)}} ], "axes": [ {{string.Join(", ", all)}} ], "interlocks": [] }""";
    }
}
