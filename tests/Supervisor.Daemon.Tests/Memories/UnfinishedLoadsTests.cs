using Microsoft.Extensions.Logging.Abstractions;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Memories;
using Supervisor.Runtime.Parameters;

namespace Supervisor.Daemon.Tests.Memories;

public sealed class UnfinishedLoadsTests : IDisposable
{
    private const int Dibber = 2;

    private readonly MachineDefinition _machine = SmallMachine.Whole;
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("loads-");

    public void Dispose() => _folder.Delete(recursive: true);

    [Fact]
    public void Remembered_NoFile_NamesNobody() => Assert.All(Open().Remembered, Assert.Null);

    [Fact]
    public void TryBegin_NotSeenToEnd_IsRememberedWithItsSet()
    {
        Assert.True(Open().TryBegin(Dibber, Job(("positionGain", 120), ("velocityGain", 80))));

        var remembered = Open().Remembered;
        Assert.Equal(Dibber, Assert.Single(Enumerable.Range(0, remembered.Count), axis => remembered[axis] is not null));
        Assert.True(remembered[Dibber]!.Saves);
        Assert.Equal(Job(("positionGain", 120), ("velocityGain", 80)).Entries, remembered[Dibber]!.Entries);
    }

    [Fact]
    public void TryBegin_WhileOneIsUnderWay_IsRefused()
    {
        var loads = Open();
        var first = Job(("velocityGain", 80));
        Assert.True(loads.TryBegin(Dibber, first));
        Assert.False(loads.TryBegin(Dibber, Job(("velocityGain", 90))));
        Assert.Equal(first.Entries, Open().Remembered[Dibber]!.Entries);
    }

    [Fact]
    public void Settle_WithdrawnBeforeItBegan_LeavesWhatWasBefore()
    {
        Assert.True(Open().TryBegin(Dibber, Job(("velocityGain", 80))));
        var loads = Open();
        var second = Job(("velocityGain", 90));
        Assert.True(loads.TryBegin(Dibber, second));
        Assert.True(second.TryWithdraw());
        loads.Settle(Dibber);
        Assert.Equal(80u, Assert.Single(Open().Remembered[Dibber]!.Entries).Raw);

        var third = Job(("velocityGain", 100));
        Assert.True(loads.TryBegin(Dibber, third));
        loads.NotBegun(Dibber, third);
        Assert.Equal(80u, Assert.Single(Open().Remembered[Dibber]!.Entries).Raw);
    }

    [Fact]
    public void Proven_ReadBackWhole_IsForgotten()
    {
        Assert.True(Open().TryBegin(Dibber, Job(("velocityGain", 80))));
        Open().Proven(Dibber);
        Assert.All(Open().Remembered, Assert.Null);
    }

    [Fact]
    public void TryBegin_FolderThatCannotBeWritten_ThrowsAndRemembersNothing()
    {
        var loads = Open();
        Directory.CreateDirectory(loads.Path + ".new");
        var job = Job(("velocityGain", 80));
        Assert.ThrowsAny<Exception>(() => loads.TryBegin(Dibber, job));
        Directory.Delete(loads.Path + ".new");
        Assert.All(Open().Remembered, Assert.Null);
        Assert.True(loads.TryBegin(Dibber, job));
    }

    [Theory]
    [InlineData("garbage")]
    [InlineData("""{ "axes": [ { "name": "dibber" } ] }""")]
    [InlineData("""{ "axes": 3 }""")]
    public void Remembered_DamagedFile_HoldsEveryAxisWithParameters(string text)
    {
        File.WriteAllText(Open().Path, text);
        Assert.All(Open().Remembered, set => Assert.Empty(set!.Entries));
    }

    [Fact]
    public void Remembered_NameThatTheDefinitionKnowsNoMore_HoldsTheAxisWithoutASet()
    {
        File.WriteAllText(Open().Path, """{ "axes": [ { "name": "dibber", "saves": false, "parameters": [ { "name": "gone", "raw": 1 } ] } ] }""");
        Assert.Empty(Open().Remembered[Dibber]!.Entries);
    }

    private UnfinishedLoads Open() => new(_machine, _folder.FullName, NullLogger.Instance);

    private ParameterJob Job(params (string Name, uint Raw)[] set)
    {
        var fields = _machine.Axes[Dibber].Drive.Parameters.ToList();
        return new ParameterJob([.. set.Select(each => new ParameterEntry((short)fields.FindIndex(field => field.Name == each.Name), each.Raw))], writes: true) { Saves = true };
    }
}
