using Microsoft.Extensions.Logging.Abstractions;
using Supervisor.Bus;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Memories;
using Supervisor.Machine.Recovery;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Daemon.Tests.Memories;

/// <summary>An axis that did not follow goes slowly past that place also when the daemon started anew meanwhile.</summary>
public sealed class ReducedSpeedFileTests : IDisposable
{
    private static readonly RecoveryDefinition Following =
        new([FaultClass.Following], 3, TimeSpan.FromMinutes(1), RecoveryAction.ResetAndEnable) { SpeedPercent = 30 };

    private readonly string _folder = Directory.CreateTempSubdirectory("speeds-").FullName;
    private readonly MachineDefinition _machine;
    private readonly SnapshotCell<ReducedSpeedNote>[] _told = [new(), new()];

    public ReducedSpeedFileTests()
    {
        var machine = SmallMachine.With("slide", "lift");
        _machine = machine with { Axes = [machine.Axes[0] with { Recovery = [Following] }, machine.Axes[1]] };
    }

    private string Path => System.IO.Path.Combine(_folder, "reduced-speeds.json");

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void Read_NoFile_IsFullSpeed()
    {
        Assert.All(Read(out var problem), note => Assert.Equal(0, note.Percent));
        Assert.Null(problem);
    }

    [Fact]
    public void Step_WhatIsToldAndLifted_IsRead()
    {
        var keeper = Keeper();
        _told[0].Write(new ReducedSpeedNote { Version = 1, Percent = 25, Place = 12.5, Target = double.NaN });
        Assert.True(keeper.Step());
        var notes = Read(out var problem);
        Assert.Equal((25, 12.5, double.NaN, 0), (notes[0].Percent, notes[0].Place, notes[0].Target, notes[0].Version));
        Assert.Equal(0, notes[1].Percent);

        _told[0].Write(new ReducedSpeedNote { Version = 2 });
        Assert.True(keeper.Step());
        Assert.Equal(0, Read(out problem)[0].Percent);
        Assert.Null(problem);
    }

    /// <summary>The run after next: what nobody touched in between is still there.</summary>
    [Fact]
    public void Step_AnotherAxisIsTold_KeepsWhatWasRemembered()
    {
        File.WriteAllText(Path, """{ "axes": [ { "name": "lift", "percent": 40, "place": 7, "target": 9 }, { "name": "gone", "percent": 40 } ] }""");
        var keeper = Keeper();
        _told[0].Write(new ReducedSpeedNote { Version = 1, Percent = 25 });
        Assert.True(keeper.Step());
        Assert.Equal((40, 7), (Read(out _)[1].Percent, Read(out _)[1].Place));
    }

    [Fact]
    public void Step_FolderThatCannotBeWritten_IsTriedAgain()
    {
        var keeper = Keeper();
        Directory.CreateDirectory(Path + ".new");
        _told[0].Write(new ReducedSpeedNote { Version = 1, Percent = 25 });
        Assert.False(keeper.Step());
        Assert.False(keeper.Step());
        Directory.Delete(Path + ".new");
        Assert.True(keeper.Step());
        Assert.Equal(25, Read(out _)[0].Percent);
    }

    [Theory]
    [InlineData("")]
    [InlineData("{")]
    [InlineData("""{ "axes": 3 }""")]
    [InlineData("""{ "axes": [ { "name": "slide" } ] }""")]
    [InlineData("""{ "axes": [ { "name": "slide", "percent": 0 } ] }""")]
    [InlineData("""{ "axes": [ { "name": "slide", "percent": 101 } ] }""")]
    [InlineData("""{ "axes": [ { "name": "slide", "percent": 20, "place": "here" } ] }""")]
    public void Read_DamagedFile_SlowsEveryAxisThatMayBeMeant(string text)
    {
        File.WriteAllText(Path, text);
        var notes = Read(out var problem);
        Assert.Contains("reduced-speeds.json", problem, StringComparison.Ordinal);
        Assert.Equal((30, double.NaN, double.NaN), (notes[0].Percent, notes[0].Place, notes[0].Target));
        Assert.Equal(0, notes[1].Percent);
    }

    private ReducedSpeedNote[] Read(out string? problem) => new ReducedSpeedFile(_machine, _folder).Read(out problem);

    private ReducedSpeedKeeper Keeper() =>
        new(_told, Read(out _), new ReducedSpeedFile(_machine, _folder), MonotonicClock.System, NullLogger.Instance);
}
