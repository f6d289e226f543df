using System.Globalization;
using System.Runtime.Versioning;
using Supervisor.Bus;
using Supervisor.Bus.Links;
using Supervisor.Configuration.Machines;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Ports;
using Supervisor.Runtime.Tests.Support;

namespace Supervisor.Runtime.Tests.Ports;

/// <summary>
/// Eight ports with their threads on real pseudo-terminals, unplugged at random places of their traffic and plugged in again under the same name.
/// What has to happen is waited for with a bound; how long it takes is never asserted. SUPERVISOR_SEED gives other instants.
/// </summary>
[Collection(AloneCollection.Name)]
[SupportedOSPlatform("linux")]
public sealed class UnplugTests : IDisposable
{
    private const int Ports = 8;
    private const int LongestReply = 40;
    private static readonly int Unplugs = Environment.GetEnvironmentVariable("SUPERVISOR_LONG") == "1" ? 2000 : 200;
    private static readonly TimeSpan Bound = TimeSpan.FromSeconds(60);

    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("unplug-");
    private readonly int _seed = int.TryParse(Environment.GetEnvironmentVariable("SUPERVISOR_SEED"), CultureInfo.InvariantCulture, out var seed) ? seed : 4711;

    public void Dispose() => _folder.Delete(recursive: true);

    [Fact]
    public void Unplugged200TimesInTraffic_IsBackEachTimeExecutesNothingTwiceAndLeavesNothing()
    {
        TestContext.Current.TestOutputHelper!.WriteLine($"seed {_seed}, {Unplugs} unplugs");
        var descriptors = Terminals();
        string[] names = ["left", "right", .. Enumerable.Range(1, Ports - 2).Select(number => $"conveyor-upper-{number}")];
        var machine = Parts.Machine([.. names.Select((name, port) => Parts.Axis(name) with { Port = port })]) with
        {
            Ports = [.. names.Select(name => Parts.Port with { Name = name, Cycle = TimeSpan.FromMilliseconds(10), ResponseTimeout = TimeSpan.FromMilliseconds(8) })],
        };
        var board = new MachineBoard(machine);
        var lines = names.Select((name, port) => new Line(board, port, Path.Combine(_folder.FullName, name), _seed + port)).ToArray();
        Assert.Equal([.. Enumerable.Range(1, Ports - 2).Select(number => $"port conve~er-{number}"), "port left", "port right"], Threads("port "));

        var people = lines.Select(line => new Thread(line.Run) { IsBackground = true }).ToArray();
        Array.ForEach(people, person => person.Start());
        Array.ForEach(people, person => person.Join());
        Array.ForEach(lines, line => Assert.True(line.Trouble is null, $"{line.Trouble}"));
        Assert.Equal(Unplugs, lines.Sum(line => line.Unplugged));

        Array.ForEach(lines, line => line.End());

        // Each kind of instant was met, and drives did take set-points whose reply never came: else nothing could have been executed twice.
        Assert.All(Enum.GetValues<Pull>(), pull => Assert.Contains(lines, line => line.Pulls[pull] > 0));
        Assert.All(lines, line => Assert.True(line.Taken.Count > Unplugs / Ports / 4, $"only {line.Taken.Count} moves were made"));
        foreach (var line in lines)
        {
            Assert.Equal(line.Given.Distinct(), line.Given);
            Assert.Equal(line.Taken.Distinct(), line.Taken);
            Assert.Subset(line.Given.ToHashSet(), line.Taken.ToHashSet());
        }

        Line.Await(() => Threads("port ").Length + Threads("open ").Length == 0, "no thread is left");
        Line.Await(() => Terminals() == descriptors, "no descriptor is left");
        Assert.False(board.Latch.IsStanding(Supervisor.Runtime.Stops.StopCauses.ShutDown));
    }

    /// <summary>Threads of this process as the kernel shows them.</summary>
    internal static string[] Threads(string prefix)
    {
        var names = new List<string>();
        foreach (var task in Directory.EnumerateDirectories("/proc/self/task"))
        {
            try
            {
                names.Add(File.ReadAllText(Path.Combine(task, "comm")).TrimEnd('\n'));
            }
            catch (IOException)
            {
                // It ended meanwhile.
            }
        }

        return [.. names.Where(name => name.StartsWith(prefix, StringComparison.Ordinal)).Order(StringComparer.Ordinal)];
    }

    /// <summary>Open descriptors of pseudo-terminals, either side.</summary>
    internal static int Terminals() => Directory.EnumerateFileSystemEntries("/proc/self/fd").Count(entry =>
        new FileInfo(entry).LinkTarget is { } target && (target.StartsWith("/dev/pts/", StringComparison.Ordinal) || target.EndsWith("/ptmx", StringComparison.Ordinal)));

    /// <summary>One port with its drive, and the person who pulls its plug and gives its axis commands.</summary>
    private sealed class Line : IDisposable
    {
        private readonly MachineBoard _board;
        private readonly int _port;
        private readonly string _device;
        private readonly Random _random;
        private readonly HandDrive _drive = new();
        private readonly PortThread _thread;
        private PulledTerminal _terminal;
        private ulong _lastId;
        private int _target;
        private volatile Exception? _ended;

        public Line(MachineBoard board, int port, string device, int seed)
        {
            (_board, _port, _device, _random) = (board, port, device, new Random(seed));
            _drive.SetPointTaken = target =>
            {
                Taken.Add(target);
                _drive.Position = target;
            };
            _terminal = new PulledTerminal(device, _drive);
            var stepper = new PortStepper(board, port);
            _thread = new PortThread(board, stepper, board.Machine.Ports[port].Name, () => LinuxSerialLink.Open(device, stepper.Line).Link, MonotonicClock.System, error => _ended = error);
            _thread.Start();
        }

        public int Unplugged { get; private set; }

        public Dictionary<Pull, int> Pulls { get; } = Enum.GetValues<Pull>().ToDictionary(pull => pull, _ => 0);

        /// <summary>Targets given, counts.</summary>
        public List<int> Given { get; } = [];

        /// <summary>Targets the drive began to move to.</summary>
        public List<int> Taken { get; } = [];

        public Exception? Trouble { get; private set; }

        public static void Await(Func<bool> holds, string what)
        {
            var end = MonotonicClock.System.Now + Bound;
            while (!holds())
            {
                Assert.True(MonotonicClock.System.Now < end, $"not within {Bound}: {what}");
                Pause(1);
            }
        }

        public void Run()
        {
            try
            {
                while (Unplugged < Unplugs / Ports)
                {
                    Await(() => Axis is { Online: true } && _board.Ports[_port].Port.Read().Open, $"port {_port} back after {Unplugged} unplugs");
                    Ready();
                    Move();
                    Pause(_random.Next(30));
                    var pull = (Pull)_random.Next(3);
                    Pulls[pull]++;
                    _terminal.Unplug(pull, _random.Next(LongestReply));
                    Unplugged++;
                    Move();
                    Pause(_random.Next(20));
                    _terminal = new PulledTerminal(_device, _drive);
                }

                Await(() => Axis is { Online: true }, "back after the last");
            }
#pragma warning disable CA1031 // Told by the test's own thread.
            catch (Exception exception)
#pragma warning restore CA1031
            {
                Trouble = _ended ?? exception;
            }
        }

        public void End()
        {
            Assert.True(_thread.Stop());
            Assert.Null(_ended);
            Dispose();
        }

        public void Dispose() => _terminal.Dispose();

        private AxisSnapshot Axis => _board.Axes[_port].Read();

        /// <summary>Resets and energises; a plug that is pulled meanwhile is another's turn.</summary>
        private void Ready()
        {
            var until = MonotonicClock.System.Now + TimeSpan.FromSeconds(2);
            while (Axis.State != AxisState.Ready && MonotonicClock.System.Now < until)
            {
                Give(Axis.State == AxisState.Faulted ? AxisCommandKind.Reset : AxisCommandKind.Enable, 0);
                Pause(15);
            }
        }

        /// <summary>Every target is another one, so that what is executed twice shows.</summary>
        private void Move()
        {
            _target = (_target + 500) % 400_000;
            Given.Add(_target);
            Give(AxisCommandKind.Move, _target / 1000.0);
        }

        private void Give(AxisCommandKind kind, double target)
        {
            // Nobody else empties the rings here.
            while (_board.Ports[_port].Reports.TryRead(out _))
            {
            }

            while (_board.Ports[_port].Faults.TryRead(out _))
            {
            }

            var limits = _board.Machine.Axes[_port].Limits;
            _ = _board.Ports[_port].Mailbox.TryWrite(new AxisCommand(
                ++_lastId, (short)_port, kind, _board.Latch.StopEpoch(_port), target, limits.Velocity, limits.Acceleration, limits.Deceleration, 0));
        }

        private static void Pause(int milliseconds) => MonotonicClock.System.WaitUntil(MonotonicClock.System.Now + TimeSpan.FromMilliseconds(milliseconds));
    }
}
