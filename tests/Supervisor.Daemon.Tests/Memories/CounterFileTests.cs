using Microsoft.Extensions.Logging.Abstractions;
using Supervisor.Bus;
using Supervisor.Configuration.Alarms;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Memories;
using Supervisor.Machine.OwnAlarms;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Daemon.Tests.Memories;

/// <summary>Counters over the end of the daemon.</summary>
public sealed class CounterFileTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("counters-").FullName;
    private readonly SnapshotCell<CounterNote>[] _told = [new(), new()];

    private string Path => System.IO.Path.Combine(_folder, "counters.json");

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void Read_NoFile_BeginsAtNought() => Assert.Equal([0L, 0L], Read(out _, "rows", "trays"));

    /// <summary>Also where the machine file has another order, or one more: names decide.</summary>
    [Fact]
    public void Step_WhatIsCounted_IsReadByName()
    {
        var keeper = Keeper("rows", "trays");
        _told[1].Write(new CounterNote { Version = 1, Count = 42 });
        Assert.True(keeper.Step());

        Assert.Equal([0L, 42L], Read(out var problem, "rows", "trays"));
        Assert.Null(problem);
        Assert.Equal([42L, 0L, 0L], Read(out _, "trays", "holes", "rows"));
    }

    [Fact]
    public void Stop_AfterALaterCount_WritesIt()
    {
        var keeper = Keeper("rows", "trays");
        keeper.Start();
        _told[0].Write(new CounterNote { Version = 1, Count = 1 });
        _told[1].Write(new CounterNote { Version = 1, Count = 1 });
        Assert.True(keeper.Stop(TimeSpan.FromSeconds(30)));
        Assert.Equal([1L, 1L], Read(out _, "rows", "trays"));
    }

    [Theory]
    [InlineData("")]
    [InlineData("{}")]
    [InlineData("""{ "counters": [ { "name": "rows" } ] }""")]
    [InlineData("""{ "counters": [ { "name": "trays", "count": 3 }, { "name": "rows", "count": -1 } ] }""")]
    public void Read_Damaged_IsToldAndBeginsAtNought(string text)
    {
        File.WriteAllText(Path, text);
        Assert.Equal([0L, 0L], Read(out var problem, "rows", "trays"));
        Assert.Contains("counters.json", problem, StringComparison.Ordinal);
    }

    private long[] Read(out string? problem, params string[] names) => new CounterFile(Machine(names), _folder).Read(out problem);

    private CounterKeeper Keeper(params string[] names) => new(_told, new CounterFile(Machine(names), _folder), MonotonicClock.System, NullLogger.Instance);

    private static MachineDefinition Machine(string[] names) => SmallMachine.With("slide") with { Counters = [.. names.Select(name => new CounterDefinition(name, null))] };
}
