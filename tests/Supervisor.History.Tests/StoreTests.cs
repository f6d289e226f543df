using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Reading;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Records.Stops;
using static Supervisor.History.Tests.HistoryFixture;

namespace Supervisor.History.Tests;

public sealed class StoreTests : IDisposable
{
    private readonly HistoryFixture _fixture = new();

    public void Dispose() => _fixture.Dispose();

    [Fact]
    public async Task Append_EveryKind_IsReadBackAsItWas()
    {
        var at = TimeSpan.FromTicks(123_456_789);
        HistoryRecord[] records =
        [
            new StartRecord(at, "0.1.0", "Tray seeder", "ab12"),
            new FaultRecord(at, "dibber", "line-a", null, FaultCode.MotorBlocked, FaultClass.Grave, 0x7121, AxisState.Moving, ulong.MaxValue, -12.25),
            new FaultRecord(at, null, null, "emergency stop", FaultCode.ChannelDiscrepancy, FaultClass.Grave, 0, AxisState.Ready, 0, double.NaN),
            new FaultRecord(at, "dibber", "line-a", null, FaultCode.UnderVoltage, FaultClass.Supply, 0x3220, AxisState.Disabled, 0, 3) { ConsequenceOf = "emergency stop" },
            new FaultRecord(at, "dibber", "line-a", null, FaultCode.UnderVoltage, FaultClass.Supply, 0x3220, AxisState.Disabled, 0, 3) { ConsequenceOf = "emergency stop", Note = "a note" },
            new RecoveryRecord(at, "dibber", FaultCode.LinkLost, RecoveryStep.GivenUp, 3, 3, "reset, then home") { Action = "resetAndHome" },
            new LinkRecord(at, "line-a", null, false, "EIO"),
            new LinkRecord(at, "line-a", "tray", true, ""),
            Refused(7),
            new NoticeRecord(at, NoticeKind.DiskBack, 5, "\"quoted\" – ünïcode\n"),
            new StopRecord(at, "dibber", "mm", "front guard", 1, -250.5, 12.25, TimeSpan.FromTicks(1_234_567), null),
            new TimeoutProofRecord(
                at, "dibber", "mm", TimeoutVerdict.Passed, "quickStopThenOff", TimeSpan.FromMilliseconds(250), TimeSpan.FromTicks(3_501_237), -50, 14.5, 20.25)
            {
                RestAfter = TimeSpan.FromTicks(3_501_239), OffAfter = TimeSpan.FromTicks(3_501_241), ActedAfter = TimeSpan.FromTicks(2_600_003), DriveCode = 0x8130,
                CommandId = 41, Holder = "a commissioner",
            },
            new TimeoutProofRecord(at, "drum", "deg", TimeoutVerdict.DidNotAct, "torqueOff", TimeSpan.FromSeconds(1), TimeSpan.FromSeconds(1.2), 90, 108, null),
            new ReturnRecord(at, "drum", FaultCode.LinkLost, ReturnStep.Ready),
            new ParameterRecord(at, "drum", "kp", "1/s", 12.5, ParameterChange.NotTaken) { Before = 11, After = 12, Holder = "a commissioner" },
            new ParameterRecord(at, "drum", "lock", "", 1, ParameterChange.Unknown),
            new EndRecord(at, "stopped by signal"),
        ];
        using var store = _fixture.Open();

        foreach (var record in records)
        {
            Assert.True(store.Append(record));
        }

        await store.FlushAsync();
        Assert.Equal(records, _fixture.All().Reverse().Select(stored => stored.Record));
    }

    [Fact]
    public async Task Append_Interlock_KeepsItsInputs()
    {
        using var store = _fixture.Open();

        await store.AppendAsync(new InterlockRecord(TimeSpan.FromSeconds(1), "emergency stop", InterlockChange.Tripped, ["tray.input1", "tray.input2"]));

        var record = Assert.IsType<InterlockRecord>(Assert.Single(_fixture.All()).Record);
        Assert.Equal(InterlockChange.Tripped, record.Change);
        Assert.Equal(["tray.input1", "tray.input2"], record.Inputs);
    }

    [Fact]
    public async Task Append_Command_KeepsItsAxes()
    {
        using var store = _fixture.Open();

        await store.AppendAsync(Refused(1) with { Axes = ["dibber", "gantry"] });

        Assert.Equal(["dibber", "gantry"], Assert.IsType<CommandRecord>(Assert.Single(_fixture.All()).Record).Axes);
    }

    [Fact]
    public void From_FaultEvent_TakesItsClassFromTheCatalogue()
    {
        var fault = new FaultEvent(TimeSpan.FromSeconds(3), 2, 0, FaultCode.OverCurrent, 0x2310, AxisState.Homing, 9, 1.5);

        Assert.Equal(
            new FaultRecord(TimeSpan.FromSeconds(3), "dibber", "line-a", null, FaultCode.OverCurrent, FaultClass.Grave, 0x2310, AxisState.Homing, 9, 1.5),
            FaultRecord.From(fault, "dibber", "line-a"));
    }

    [Fact]
    public async Task AppendAsync_Ended_TheRecordIsInTheFile()
    {
        using var store = _fixture.Open();

        for (var number = 1; number <= 5; number++)
        {
            Assert.Equal(number, await store.AppendAsync(Fault(number)));
            Assert.Equal(number, _fixture.Scalar("SELECT max(sequence) FROM records"));
        }

        Assert.True(store.Health.Good);
        Assert.Equal(5, store.Health.Committed);
    }

    [Fact]
    public async Task Append_ManyThreads_KeepsEachThreadsOrderAndEveryRecordOnce()
    {
        const int Threads = 4, Each = 500;
        using var store = _fixture.Open();

        await Task.WhenAll(Enumerable.Range(0, Threads).Select(thread => Task.Run(() =>
        {
            for (var number = 0; number < Each; number++)
            {
                Assert.True(store.Append(Fault(number, $"axis{thread}")));
            }
        })));
        await store.FlushAsync();

        for (var thread = 0; thread < Threads; thread++)
        {
            var page = _fixture.Reader.Query(new HistoryFilter { Axis = $"axis{thread}", Limit = 1_000 });
            Assert.Equal(Enumerable.Range(0, Each), page.Records.Reverse().Select(stored => (int)((FaultRecord)stored.Record).CommandId));
        }

        Assert.Equal(Enumerable.Range(1, 1_000).Select(n => (long)n + 1_000), _fixture.All().Reverse().Select(stored => stored.Sequence));
    }

    [Fact]
    public async Task Append_WhileTheWriterIsBusy_IsCommittedInOneGroup()
    {
        using var store = _fixture.Open();
        await store.FlushAsync();
        _fixture.HoldWriter();
        var before = _fixture.ClockReads;
        store.Append(Fault(0));
        await Until(() => _fixture.ClockReads > before);

        var waiting = Enumerable.Range(1, 50).Select(number => store.AppendAsync(Fault(number))).ToArray();
        Assert.DoesNotContain(waiting, task => task.IsCompleted);
        _fixture.ReleaseWriter();
        await Task.WhenAll(waiting);

        // The clock is read once a transaction: one for the first record, one for the fifty.
        Assert.Equal(before + 2, _fixture.ClockReads);
        Assert.Equal(51, _fixture.All().Count);
    }

    [Fact]
    public async Task Open_Again_GoesOnWithNumbersAndKeepsEveryRecordOnce()
    {
        for (var run = 0; run < 3; run++)
        {
            using var store = _fixture.Open(options => options with { BootId = $"boot-{run / 2}" });
            for (var number = 0; number < 10; number++)
            {
                store.Append(Fault((run * 10) + number));
            }

            Assert.True(store.Stop(Bound));
        }

        var all = _fixture.All().Reverse().ToArray();
        Assert.Equal(Enumerable.Range(1, 30).Select(n => (long)n), all.Select(stored => stored.Sequence));
        Assert.Equal(Enumerable.Range(0, 30), all.Select(stored => (int)((FaultRecord)stored.Record).CommandId));
        Assert.Equal([.. Enumerable.Repeat("boot-0", 20), .. Enumerable.Repeat("boot-1", 10)], all.Select(stored => stored.BootId));
    }

    [Fact]
    public async Task Start_AfterEachKindOfEnd_TellsHowItEnded()
    {
        var start = new StartRecord(TimeSpan.Zero, "0.1.0", "Tray seeder", "ab12");
        using (var first = _fixture.Open())
        {
            await first.AppendAsync(start);
        }

        using (var second = _fixture.Open())
        {
            await second.AppendAsync(start);
            await second.AppendAsync(new EndRecord(TimeSpan.Zero, "stopped by signal"));
        }

        using (var third = _fixture.Open())
        {
            await third.AppendAsync(start with { FileHash = "cd34" });
        }

        Assert.Equal(["", "ab12", "ab12"], _fixture.All().Reverse().Select(stored => stored.Record).OfType<StartRecord>().Select(record => record.PreviousFileHash));
        Assert.Equal(
            [PreviousEnd.Unknown, PreviousEnd.NotInOrder, PreviousEnd.InOrder],
            _fixture.All().Reverse().Select(stored => stored.Record).OfType<StartRecord>().Select(record => record.PreviousEnd));
    }

    [Fact]
    public async Task Append_TextsOfAnyKind_AreCutAndKept()
    {
        var cut = new string('x', HistoryRecord.MaximumTextLength - 1);
        using var store = _fixture.Open();

        Assert.NotEqual(0, await store.AppendAsync(new EndRecord(TimeSpan.Zero, cut + "\U0001F600 and more")));
        Assert.NotEqual(0, await store.AppendAsync(new EndRecord(TimeSpan.MinValue, "half a character: \uD83D")));
        Assert.NotEqual(0, await store.AppendAsync(new LinkRecord(TimeSpan.MaxValue, "line\0a", "\uDE00", false, "")));

        var all = _fixture.All();
        Assert.Equal(cut, Assert.IsType<EndRecord>(all[2].Record).Reason);
        Assert.StartsWith("half a character: ", Assert.IsType<EndRecord>(all[1].Record).Reason, StringComparison.Ordinal);
        Assert.IsType<LinkRecord>(all[0].Record);
    }

    [Fact]
    public async Task Append_MoreThanTheRing_KeepsTheNewestOfEachKind()
    {
        using var store = _fixture.Open(options => options with { MaximumPerKind = 40 });
        await store.AppendAsync(Fault(1));

        for (var number = 0; number < 500; number++)
        {
            await store.AppendAsync(Refused(number));
        }

        Assert.InRange(_fixture.Scalar("SELECT count(*) FROM records WHERE kind = 7"), 40, 45);
        var all = _fixture.All();
        Assert.Equal(499, (int)Assert.IsType<CommandRecord>(all[0].Record).CommandId);
        Assert.IsType<FaultRecord>(all[^1].Record);
    }

    [Fact]
    public void Options_OutOfRange_AreNamed()
    {
        Assert.Contains("QueueCapacity", Assert.Throws<ArgumentOutOfRangeException>(() => _fixture.Open(o => o with { QueueCapacity = 1 })).Message, StringComparison.Ordinal);
        Assert.Contains("MaximumPerKind", Assert.Throws<ArgumentOutOfRangeException>(() => _fixture.Open(o => o with { MaximumPerKind = 0 })).Message, StringComparison.Ordinal);
        Assert.Contains("RetryInterval", Assert.Throws<ArgumentOutOfRangeException>(() => _fixture.Open(o => o with { RetryInterval = TimeSpan.Zero })).Message, StringComparison.Ordinal);
        Assert.Throws<ArgumentException>(() => _fixture.Open(o => o with { Path = " " }));
    }
}
