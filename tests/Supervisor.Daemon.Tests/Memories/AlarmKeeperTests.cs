using Microsoft.Extensions.Logging.Abstractions;
using Supervisor.Bus;
using Supervisor.Daemon.Memories;
using Supervisor.History.Clocks;
using Supervisor.Machine.Alarms;
using Supervisor.Machine.Api;
using Supervisor.Records.Alarms;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Tests.Memories;

public sealed class AlarmKeeperTests : IDisposable
{
    private const string Boot = "boot-1";
    private readonly string _folder = Directory.CreateTempSubdirectory("alarms-").FullName;
    private readonly Clock _clock = new();
    private readonly AlarmFile _file;
    private readonly AlarmKeeper _keeper;
    private AlarmList _list = AlarmList.Empty;

    public AlarmKeeperTests()
    {
        _file = new AlarmFile(SmallMachine.Whole, _folder);
        _keeper = new AlarmKeeper(() => _list, _file, () => new ClockReading(_clock.Now, DateTimeOffset.UnixEpoch.AddYears(60), UtcQuality.Synchronised), Boot, _clock, NullLogger.Instance);
    }

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public async Task Acknowledgement_IsAnsweredOnlyOnceTheFileHasIt()
    {
        Change(AlarmState.AcknowledgedActive, "Ada");
        var kept = _keeper.KeepAsync(TimeSpan.FromHours(1), TestContext.Current.CancellationToken);
        await Task.Delay(50, TestContext.Current.CancellationToken);
        Assert.False(kept.IsCompleted);

        _keeper.Step();
        Assert.True(await kept);
        Assert.Equal("Ada", Assert.Single(_file.Read(new ClockReading(_clock.Now, default, UtcQuality.Unsynchronised), Boot, out _)).Acknowledged!.By);
    }

    [Fact]
    public async Task Acknowledgement_ThatTheDiskDoesNotTake_IsSaidNotToBeKeptAndTriedOn()
    {
        Directory.CreateDirectory(_file.Path + ".new");
        Change(AlarmState.AcknowledgedActive, "Ada");
        var kept = _keeper.KeepAsync(TimeSpan.FromSeconds(5), TestContext.Current.CancellationToken);
        Assert.False(_keeper.Step());
        Assert.False(kept.IsCompleted);
        _clock.Now += TimeSpan.FromSeconds(5);
        Assert.False(await kept);

        Directory.Delete(_file.Path + ".new");
        Assert.True(_keeper.Step());
        Assert.True(File.Exists(_file.Path));
    }

    [Fact]
    public void Changes_ThatNobodyWaitsFor_AreWrittenOnceAMinute()
    {
        var writes = 0;
        for (var seconds = 0; seconds < 600; seconds++)
        {
            Change(seconds % 2 == 0 ? AlarmState.UnacknowledgedActive : AlarmState.ReturnedUnacknowledged, null);
            File.Delete(_file.Path);
            _keeper.Step();
            writes += File.Exists(_file.Path) ? 1 : 0;
            _clock.Now += TimeSpan.FromSeconds(1);
        }

        Assert.InRange(writes, 9, 11);
    }

    [Fact]
    public void Occurrences_OfWhatStands_AreNotWorthAWrite()
    {
        Change(AlarmState.UnacknowledgedActive, null);
        _keeper.Step();
        _clock.Now += TimeSpan.FromMinutes(2);
        _keeper.Step();
        Assert.True(File.Exists(_file.Path));
        File.Delete(_file.Path);
        for (var times = 0; times < 10; times++)
        {
            Change(AlarmState.UnacknowledgedActive, null);
            _clock.Now += TimeSpan.FromMinutes(2);
            _keeper.Step();
        }

        Assert.False(File.Exists(_file.Path));
    }

    private void Change(AlarmState state, string? by) => _list = new AlarmList(
        _list.Version + 1,
        [
            new AlarmStatus(new AlarmKey((int)FaultCode.MotorBlocked, AlarmSource.Axis(0)), state, FaultPriority.Medium, TimeSpan.Zero, _clock.Now, _list.Version + 1)
            {
                Acknowledged = by is null ? null : new PersonsAct(by, _clock.Now),
            },
        ],
        0);

    private sealed class Clock : IMonotonicClock
    {
        public TimeSpan Now { get; set; } = TimeSpan.FromHours(1);

        public void WaitUntil(TimeSpan deadline)
        {
        }
    }
}
