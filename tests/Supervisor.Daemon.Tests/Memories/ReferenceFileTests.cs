using Microsoft.Extensions.Logging.Abstractions;
using Supervisor.Bus;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Memories;
using Supervisor.Runtime;
using Supervisor.Runtime.Contact;

namespace Supervisor.Daemon.Tests.Memories;

public sealed class ReferenceFileTests : IDisposable
{
    private static readonly ReferenceNote Gained = new()
    {
        Version = 3, Referenced = true, SerialKnown = true, SerialNumber = 4_000_000_001, UptimeKnown = true, UptimeMs = 123_456.5,
        At = TimeSpan.FromMilliseconds(98_765.25),
    };

    private readonly MachineDefinition _machine = SmallMachine.Whole;
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("references-");

    public void Dispose() => _folder.Delete(recursive: true);

    [Fact]
    public void Read_NoFile_KnowsNothing()
    {
        var notes = File("boot-1").Read(out var problem);

        Assert.Null(problem);
        Assert.All(notes, note => Assert.False(note.IsKnown));
    }

    [Fact]
    public void Read_InTheSameBoot_GivesBackWhatWasWritten()
    {
        Write("boot-1");
        var note = File("boot-1").Read(out var problem)[0];

        Assert.Null(problem);
        Assert.Equal(Gained with { Version = note.Version }, note);
        Assert.True(note.IsKnown);
    }

    [Fact]
    public void Read_AfterTheBoardRestarted_KeepsTheSerialNumberButNoTimes()
    {
        Write("boot-1");
        var note = File("boot-2").Read(out _)[0];

        Assert.True(note.Referenced);
        Assert.Equal(Gained.SerialNumber, note.SerialNumber);
        Assert.False(note.UptimeKnown);
    }

    [Fact]
    public void Read_AnEntryWrittenAgainInALaterBoot_StaysOfItsOwnBoot()
    {
        Write("boot-1");
        var second = File("boot-2");
        var notes = second.Read(out _);
        second.Write(notes, new bool[notes.Length]);

        Assert.True(File("boot-1").Read(out _)[0].UptimeKnown);
        Assert.False(File("boot-2").Read(out _)[0].UptimeKnown);
    }

    [Theory]
    [InlineData("")]
    [InlineData("{ \"axes\": [ { \"name\": ")]
    [InlineData("{}")]
    [InlineData("[]")]
    [InlineData("{ \"axes\": 5 }")]
    public void Read_Damaged_BelievesNoZeroAndSaysSo(string text)
    {
        System.IO.File.WriteAllText(File("boot-1").Path, text);
        var notes = File("boot-1").Read(out var problem);

        Assert.NotNull(problem);
        Assert.All(notes, note => Assert.True(note is { IsKnown: true, Referenced: false }));
    }

    [Fact]
    public void Step_UnchangedNotes_WritesOnce()
    {
        var board = new MachineBoard(_machine, File("boot-1").Read(out _));
        var file = File("boot-1");
        var keeper = new ReferenceKeeper(board, file, MonotonicClock.System, NullLogger.Instance);
        Assert.True(keeper.Step());
        Assert.False(System.IO.File.Exists(file.Path));

        board.References[0].Write(Gained);
        Assert.True(keeper.Step());
        Assert.Equal(Gained.SerialNumber, File("boot-1").Read(out _)[0].SerialNumber);
        System.IO.File.Delete(file.Path);
        Assert.True(keeper.Step());
        Assert.False(System.IO.File.Exists(file.Path));
    }

    [Fact]
    public void Step_FolderGone_TriesAgainUntilItIsWritten()
    {
        var board = new MachineBoard(_machine);
        var folder = Path.Combine(_folder.FullName, "later");
        var file = new ReferenceFile(_machine, folder, "boot-1");
        var keeper = new ReferenceKeeper(board, file, MonotonicClock.System, NullLogger.Instance);
        board.References[0].Write(Gained);
        Assert.False(keeper.Step());

        Directory.CreateDirectory(folder);
        Assert.True(keeper.Step());
        Assert.True(System.IO.File.Exists(file.Path));
    }

    private ReferenceFile File(string bootId) => new(_machine, _folder.FullName, bootId);

    private void Write(string bootId)
    {
        var notes = new ReferenceNote[_machine.Axes.Count];
        notes[0] = Gained;
        var ofThisBoot = new bool[notes.Length];
        ofThisBoot[0] = true;
        File(bootId).Write(notes, ofThisBoot);
    }
}
