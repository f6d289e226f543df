using Microsoft.Extensions.Hosting.Systemd;
using Supervisor.Bus;
using Supervisor.Bus.Links;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Hosting;
using Supervisor.Runtime;
using Supervisor.Runtime.Ports;

namespace Supervisor.Daemon.Tests.Hosting;

/// <summary>The chain from a port's thread to the service manager's watchdog, with real threads and links that misbehave.</summary>
public sealed class PulseTests : IDisposable
{
    private static readonly TimeSpan Period = TimeSpan.FromSeconds(4);
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(30);
    private readonly List<bool> _told = [];
    private readonly List<PortThread> _threads = [];
    private readonly FakeNotifier _notifier = new();
    private readonly MachineBoard _board = new(MachineFile.Read(Path.Combine(AppContext.BaseDirectory, "demo", "machine.json")).Value!);
    private int _clockNotes;

    [Fact]
    public async Task Step_PortThreadThatHangsInItsLink_IsNotFed()
    {
        using var hanging = new HangingLink();
        Start(0, () => hanging);
        Start(1, () => null);
        var pulse = Build();
        await SeeAsync(() => hanging.IsHanging);
        var last = Beat();
        Assert.True(pulse.Step(last));
        var fed = _notifier.Count;

        // The other port steps on; the one that hangs does not, and time passes.
        var later = last + TimeSpan.FromSeconds(10);
        await SeeAsync(() => _board.Ports[1].Port.Read().At > last);
        Assert.False(pulse.Step(later));
        Assert.Equal(fed, _notifier.Count);
        Assert.Equal([true, false], _told);
        hanging.Release();
    }

    [Fact]
    public async Task Step_PortsWhoseDevicesAreUnplugged_IsFedAllTheSame()
    {
        Start(0, () => null);
        Start(1, () => null);
        var pulse = Build();
        await SeeAsync(() => Beat() > TimeSpan.Zero);
        Assert.True(pulse.Step(Beat()));

        // Long after the first look the threads still tell that they step: a restart would bring no device back.
        var first = Beat();
        await SeeAsync(() => Beat() > first + TimeSpan.FromSeconds(2.5));
        Assert.True(pulse.Step(Beat()));
        Assert.Equal([true], _told);
        Assert.Equal(2, _notifier.Count);
    }

    [Fact]
    public void Step_CoordinatorThatHangs_IsNotFed()
    {
        var pulse = new Pulse(_board, () => TimeSpan.Zero, _told.Add, _ => { }, () => _clockNotes++, new ServiceWatchdog(_notifier, Period));

        Assert.False(pulse.Step(TimeSpan.FromSeconds(3)));
        Assert.Equal(0, _notifier.Count);
    }

    [Fact]
    public void Feed_LooksFourTimesASecond_FeedsEveryHalfPeriod()
    {
        var watchdog = new ServiceWatchdog(_notifier, Period);
        for (var look = 0; look <= 40; look++)
        {
            watchdog.Feed(TimeSpan.FromMilliseconds(250 * look));
        }

        // sd_watchdog_enabled(3): keep-alive every half of the period; never later, here also when a look is late by a quarter of that.
        Assert.InRange(_notifier.Count, 6, 8);
        Assert.All(_notifier.States, state => Assert.Equal("WATCHDOG=1", state));
    }

    [Fact]
    public void Feed_NoWatchdogAsked_DoesNothing()
    {
        ServiceWatchdog.None.Feed(TimeSpan.FromHours(1));
        new ServiceWatchdog(_notifier, TimeSpan.Zero).Feed(TimeSpan.FromHours(1));

        Assert.Equal(0, _notifier.Count);
    }

    [Fact]
    public void Step_EveryMinute_NotesTheClock()
    {
        var pulse = Build();
        for (var second = 0; second <= 180; second++)
        {
            pulse.Step(TimeSpan.FromSeconds(second));
        }

        Assert.Equal(3, _clockNotes);
    }

    public void Dispose() => _threads.ForEach(thread => thread.Stop());

    private Pulse Build() => new(_board, () => TimeSpan.MaxValue, _told.Add, _ => { }, () => _clockNotes++, new ServiceWatchdog(_notifier, Period));

    private void Start(int port, Func<ILink?> open)
    {
        var thread = new PortThread(_board, new PortStepper(_board, port), $"test {port}", open, MonotonicClock.System, _ => { });
        _threads.Add(thread);
        thread.Start();
    }

    private TimeSpan Beat() => _board.Ports[0].Port.Read().At < _board.Ports[1].Port.Read().At ? _board.Ports[0].Port.Read().At : _board.Ports[1].Port.Read().At;

    private static async Task SeeAsync(Func<bool> condition)
    {
        var until = MonotonicClock.System.Now + Patience;
        while (!condition())
        {
            Assert.True(MonotonicClock.System.Now < until, "not seen in time");
            await Task.Delay(5, TestContext.Current.CancellationToken);
        }
    }

    private sealed class FakeNotifier : ISystemdNotifier
    {
        public List<string> States { get; } = [];

        public int Count => States.Count;

        public bool IsEnabled => true;

        public void Notify(ServiceState state) => States.Add(state.ToString());
    }

    /// <summary>A driver of the system that never comes back from a read.</summary>
    private sealed class HangingLink : ILink
    {
        private readonly ManualResetEventSlim _released = new();

        public bool IsHanging { get; private set; }

        public void Release() => _released.Set();

        public LinkStatus Write(ReadOnlySpan<byte> bytes, TimeSpan deadline) => LinkStatus.Ok;

        public LinkStatus Read(Span<byte> into, TimeSpan deadline, out int count)
        {
            count = 0;
            IsHanging = true;
            _released.Wait();
            return LinkStatus.Gone;
        }

        public LinkStatus DiscardInput() => LinkStatus.Ok;

        public void Dispose() => Release();
    }
}
