using System.Runtime.Versioning;
using Microsoft.Extensions.Logging.Abstractions;
using Supervisor.Bus;
using Supervisor.Bus.Links;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Hosting;
using Supervisor.Daemon.Tests.Processes;
using Supervisor.History;
using Supervisor.History.Recordings.Cutting;
using Supervisor.Machine;
using Supervisor.Runtime;
using Supervisor.Runtime.Ports;
using Supervisor.Simulation.Bench;

namespace Supervisor.Daemon.Tests.Hosting;

/// <summary>
/// The alive output at a drive of one line, beside another line whose driver hangs: real threads of ports and coordinator, drives on pseudo-terminals, and a
/// link that never comes back from a read. It stands for a system's driver that hangs; the program itself knows nothing of it.
/// </summary>
[Collection(ProcessTests.Name)]
[SupportedOSPlatform("linux")]
public sealed class AliveTests : IDisposable
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(60);
    private static readonly TimeSpan Meanwhile = TimeSpan.FromSeconds(5);

    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("alive-");
    private readonly Wedge _wedge = new();
    private readonly List<PortThread> _ports = [];
    private readonly MachineDefinition _machine;
    private readonly MachineBench _bench;
    private readonly MachineBoard _board;
    private readonly HistoryStore _history;
    private readonly CoordinatorThread _coordinator;
    private bool? _level;
    private int _edges;

    public AliveTests()
    {
        foreach (var file in Directory.EnumerateFiles(Path.Combine(AppContext.BaseDirectory, "demo")))
        {
            File.Copy(file, Path.Combine(_folder.FullName, Path.GetFileName(file)));
        }

        var path = Path.Combine(_folder.FullName, "machine.json");
        File.WriteAllText(path, File.ReadAllText(path).Replace("\"machine\":", "\"alive\": { \"output\": \"tray.output1\" },\n  \"machine\":", StringComparison.Ordinal));
        _machine = MachineFile.Read(path).Value!;
        _bench = new MachineBench(_machine, Path.Combine(_folder.FullName, "links"), MonotonicClock.System);
        _board = new MachineBoard(_machine);
        _history = HistoryStore.Open(new HistoryOptions
        {
            Path = Path.Combine(_folder.FullName, "history.db"), BootId = WallClock.BootId, Clock = WallClock.Read, Pause = _ => Thread.Yield(),
        });
        _coordinator = new CoordinatorThread(
            new Coordinator(_board, new Journal(_machine, _history, new RecordingEvents(), NullLogger<Journal>.Instance)), MonotonicClock.System, _ => { });
    }

    [Fact]
    public async Task Alive_DriverOfAnotherLineHangs_TogglesNoMoreUntilItIsBack()
    {
        Start();
        await SeeAsync("the output toggle", () => _edges >= 4);

        _wedge.Hang();
        await SeeAsync("the driver hang", () => _wedge.IsHanging);
        var edges = _edges;

        // Its own line and the coordinator go on meanwhile; of some ten edges in that time only one may come, which was on its way already.
        var beat = _coordinator.Heartbeat;
        await PassAsync(Meanwhile);
        Assert.True(_coordinator.Heartbeat > beat);
        Assert.InRange(_edges - edges, 0, 1);

        _wedge.Release();
        await SeeAsync("the output toggle again", () => _edges >= edges + 4);
    }

    public void Dispose()
    {
        _wedge.Release();
        _coordinator.Stop(Patience);
        _ports.ForEach(port => port.Stop());
        _wedge.Dispose();
        _history.Dispose();
        _bench.Dispose();
        _folder.Delete(recursive: true);
    }

    private void Start()
    {
        _bench.Start();
        for (var port = 0; port < _machine.Ports.Count; port++)
        {
            var stepper = new PortStepper(_board, port);
            var device = Path.Combine(_folder.FullName, "links", _machine.Ports[port].Name);
            var isWedged = port == 1;
            ILink? Open() => SerialLink.Open(device, stepper.Line).Link is { } link ? isWedged ? new WedgedLink(link, _wedge) : link : null;
            var thread = new PortThread(_board, stepper, $"alive {port}", Open, MonotonicClock.System, _ => { });
            _ports.Add(thread);
            thread.Start();
        }

        _coordinator.Start();
    }

    /// <summary>Until the line of the output has stepped for so long.</summary>
    private Task PassAsync(TimeSpan time)
    {
        var until = _board.Ports[0].Port.Read().At + time;
        return SeeAsync("time pass", () => _board.Ports[0].Port.Read().At > until);
    }

    private async Task SeeAsync(string what, Func<bool> condition)
    {
        var until = MonotonicClock.System.Now + Patience;
        while (!condition())
        {
            Assert.True(MonotonicClock.System.Now < until, $"did not see {what}");
            await Task.Delay(5, TestContext.Current.CancellationToken);
            Look();
        }
    }

    /// <summary>Counts the changes of level that the drive has confirmed.</summary>
    private void Look()
    {
        var reading = _board.Outputs.Cells[_board.Outputs.Alive].Read();
        if (reading.Known && reading.On != _level)
        {
            _level = reading.On;
            _edges++;
        }
    }

    private sealed class Wedge : IDisposable
    {
        private readonly ManualResetEventSlim _free = new(initialState: true);

        public bool IsHanging { get; private set; }

        public void Hang() => _free.Reset();

        public void Release() => _free.Set();

        public void Dispose() => _free.Dispose();

        public void Pass()
        {
            IsHanging = !_free.IsSet;
            _free.Wait();
            IsHanging = false;
        }
    }

    private sealed class WedgedLink(ILink inner, Wedge wedge) : ILink
    {
        public LinkStatus Write(ReadOnlySpan<byte> bytes, TimeSpan deadline) => inner.Write(bytes, deadline);

        public LinkStatus Read(Span<byte> into, TimeSpan deadline, out int count)
        {
            wedge.Pass();
            return inner.Read(into, deadline, out count);
        }

        public LinkStatus DiscardInput() => inner.DiscardInput();

        public void Dispose() => inner.Dispose();
    }
}
