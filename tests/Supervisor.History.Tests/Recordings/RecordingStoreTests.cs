using Supervisor.History.Entries;
using Supervisor.History.Reading;
using Supervisor.History.Recordings;
using Supervisor.History.Recordings.Reading;
using static Supervisor.History.Tests.Recordings.TraceRig;

namespace Supervisor.History.Tests.Recordings;

/// <summary>Recordings in the file: read back whole, found by time, and kept within their room.</summary>
public sealed class RecordingStoreTests : IDisposable
{
    private readonly HistoryFixture _fixture = new();

    private RecordingReader Reader => new(_fixture.Path);

    public void Dispose() => _fixture.Dispose();

    [Fact]
    public async Task Read_WhatWasRecorded_IsTheSame()
    {
        var (rig, record) = Recorded();
        var sequence = await KeepAsync(record);

        var read = Reader.Read(sequence)!;
        for (var axis = 0; axis < 4; axis++)
        {
            Assert.Equal(rig.Log.Where(sample => sample.Axis == axis && sample.At >= record.From && sample.At <= record.To), read.Samples[axis]);
        }

        Assert.Equal(Axes.Select(axis => (axis.Name, axis.Unit, axis.Port, axis.Cycle)), read.Head.Axes.Select(axis => (axis.Name, axis.Unit, axis.Port, axis.Cycle)));
        Assert.Equal(["home", "end"], read.Head.Axes[0].Inputs);
        var stored = Assert.IsType<RecordingRecord>(_fixture.All().Single(each => each.Sequence == sequence).Record);
        Assert.Equal(record with { Content = null }, stored);
    }

    [Fact]
    public async Task Read_SomeAxes_LeavesTheOthersEmpty()
    {
        var sequence = await KeepAsync(Recorded().Record);

        Assert.Equal([0, 300, 0, 0], Reader.Read(sequence, ["y"])!.Samples.Select(samples => samples.Count));
    }

    [Fact]
    public async Task Covering_TimeOfAFault_FindsItsRecording()
    {
        var sequence = await KeepAsync(Recorded().Record);

        Assert.Equal(sequence, Assert.Single(Reader.Covering("boot-1", Seconds(105), Seconds(105))).Sequence);
        Assert.Empty(Reader.Covering("boot-1", Seconds(107), Seconds(110)));
        Assert.Empty(Reader.Covering("boot-2", Seconds(105), Seconds(105)));
    }

    [Fact]
    public void Read_NoFileOrNoSuchRecording_IsNull()
    {
        Assert.Null(Reader.Read(1));
        Assert.Empty(Reader.Newest(10));
        _fixture.Open().Dispose();
        Assert.Null(Reader.Read(1));
        Assert.Empty(Reader.Covering("boot-1", TimeSpan.Zero, Seconds(1e6)));
    }

    [Fact]
    public async Task Read_Damaged_TellsWhat()
    {
        var sequence = await KeepAsync(Recorded().Record);
        _fixture.Execute("UPDATE recording_chunks SET data = x'02' WHERE number = 1");

        var error = Assert.Throws<HistoryException>(() => Reader.Read(sequence));
        Assert.Equal($"recording {sequence} can't be read: its samples are of format 2; this version reads format 1.", error.Message);
    }

    [Fact]
    public async Task Append_MoreThanTheRoom_DropsTheOldestWhole()
    {
        using (var store = _fixture.Open(options => options with { RecordingBytes = 1_000_000 }))
        {
            for (var day = 0; day < 8; day++)
            {
                await store.AppendAsync(OfBytes(240_000));
                NextDay();
            }
        }

        Assert.Equal([8, 7, 6, 5], Reader.Newest(100).Select(entry => entry.Sequence));
        Assert.Equal(960_000, _fixture.Scalar("SELECT sum(length(data)) FROM recording_chunks"));
        Assert.Null(Reader.Read(4));
        Assert.Equal(8, _fixture.All().Count);
    }

    [Fact]
    public async Task Append_StormOfADay_LeavesThoseOfTheDaysBefore()
    {
        using (var store = _fixture.Open(options => options with { RecordingBytes = 1_000_000 }))
        {
            await store.AppendAsync(OfBytes(200_000));
            NextDay();
            for (var i = 0; i < 50; i++)
            {
                await store.AppendAsync(OfBytes(100_000));
            }
        }

        var kept = Reader.Newest(100).Where(entry => entry.IsKept).Select(entry => entry.Sequence);
        Assert.Equal([3, 2, 1], kept);
        Assert.Equal(48, Reader.Newest(100).Count(entry => !entry.IsKept));
    }

    [Fact]
    public async Task Append_StopsThatWereAskedFor_LeaveHalfTheDayToFaults()
    {
        using (var store = _fixture.Open(options => options with { RecordingBytes = 1_000_000 }))
        {
            for (var i = 0; i < 5; i++)
            {
                await store.AppendAsync(OfBytes(60_000) with { IsMinor = true });
            }

            await store.AppendAsync(OfBytes(60_000));
        }

        Assert.Equal([true, false, false, false, true, true], Reader.Newest(100).Select(entry => entry.IsKept));
    }

    private void NextDay() => _fixture.Now = _fixture.Now with { Utc = _fixture.Now.Utc.AddDays(1), Monotonic = _fixture.Now.Monotonic + TimeSpan.FromDays(1) };

    private RecordingRecord OfBytes(int bytes) => new(_fixture.Now.Monotonic, "x", "following error", _fixture.Now.Monotonic, _fixture.Now.Monotonic)
    {
        Content = new RecordingContent([], [new RecordingChunk(0, new byte[bytes])]),
    };

    private async Task<long> KeepAsync(RecordingRecord record)
    {
        using var store = _fixture.Open();
        await store.AppendAsync(HistoryFixture.Fault(1));
        return await store.AppendAsync(record);
    }

    private static (TraceRig Rig, RecordingRecord Record) Recorded()
    {
        var rig = new TraceRig();
        rig.RunTo(105);
        rig.Tell(105);
        rig.RunTo(107);
        return (rig, Assert.Single(rig.Kept));
    }
}
