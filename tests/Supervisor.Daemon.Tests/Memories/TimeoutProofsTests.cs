using Microsoft.Extensions.Logging.Abstractions;
using Supervisor.Bus;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Memories;
using Supervisor.History.Clocks;
using Supervisor.Records.Stops;
using Supervisor.Runtime;

namespace Supervisor.Daemon.Tests.Memories;

/// <summary>What is remembered of proofs of communication time-outs, and what it means for the files of now.</summary>
public sealed class TimeoutProofsTests : IDisposable
{
    private static readonly TimeSpan At = TimeSpan.FromSeconds(1000);
    private static readonly DateTimeOffset Noon = new(2026, 3, 4, 12, 0, 0, TimeSpan.Zero);

    private readonly string _folder = Directory.CreateTempSubdirectory("timeouts-").FullName;
    private readonly MachineDefinition _machine = MachineFile.Read(Path.Combine(AppContext.BaseDirectory, "demo", "machine.json")).Value!;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void Proofs_NothingKept_CountAsNever()
    {
        var proofs = Make();
        Assert.Null(proofs.Problem);
        Assert.Equal(TimeoutStanding.Never, proofs.Of(0).Standing);
        Assert.True(proofs.Step());
        Assert.False(File.Exists(Path.Combine(_folder, "timeout-proofs.json")));
    }

    [Fact]
    public void Proofs_PassedAndFailed_AreKeptOverARestart()
    {
        var proofs = Make();
        proofs.Note(Measured(0, TimeoutVerdict.Passed), "somebody");
        proofs.Note(Measured(1, TimeoutVerdict.Passed), "somebody");
        proofs.Note(Measured(1, TimeoutVerdict.DidNotAct), "somebody");
        Assert.True(proofs.Step());

        var later = Make();
        Assert.Equal([TimeoutStanding.Proven, TimeoutStanding.Failed, TimeoutStanding.Never], Enumerable.Range(0, 3).Select(axis => later.Of(axis).Standing));
        var passed = later.Of(0).Kept.Passed!;
        Assert.Equal((Noon - TimeSpan.FromSeconds(2), true, 40, 12.5), (passed.Utc, passed.IsClockRight, passed.Velocity, passed.Distance));

        // One that failed is forgiven by one that is passed, and by nothing else.
        later.Note(Measured(1, TimeoutVerdict.Passed), "");
        Assert.Equal(TimeoutStanding.Proven, later.Of(1).Standing);
    }

    [Fact]
    public void Proofs_AnotherTimeoutReactionOrDriveThan_TheOneProven_AreOutdated()
    {
        var axis = _machine.Axes[0];
        var kept = new KeptTimeoutProofs(new KeptTimeoutProof(Noon, true, TimeoutVerdict.Passed, axis.CommunicationTimeout, "quickStopThenOff", 7, 40, 12), null);
        Assert.Equal(TimeoutStanding.Proven, TimeoutStandings.Of(axis, kept, 7));
        Assert.Equal(TimeoutStanding.Proven, TimeoutStandings.Of(axis, kept, null));
        Assert.Equal(TimeoutStanding.Outdated, TimeoutStandings.Of(axis, kept, 8));
        Assert.Equal(TimeoutStanding.Outdated, TimeoutStandings.Of(axis, kept with { Passed = kept.Passed! with { Reaction = "torqueOff" } }, 7));
        Assert.Equal(TimeoutStanding.Outdated, TimeoutStandings.Of(axis with { CommunicationTimeout = axis.CommunicationTimeout * 2 }, kept, 7));
        Assert.Equal(TimeoutStanding.None, TimeoutStandings.Of(axis with { Drive = axis.Drive with { CommunicationTimeout = null } }, kept, 7));
    }

    [Theory]
    [InlineData("{ \"axes\": [ { \"name\": \"tray\", \"passed\": { } } ] }")]
    [InlineData("{ \"axes\": 3 }")]
    [InlineData("")]
    public void Proofs_DamagedFile_CountAsNeverAndIsTold(string text)
    {
        File.WriteAllText(Path.Combine(_folder, "timeout-proofs.json"), text);
        var proofs = Make();
        Assert.Contains("never proven", proofs.Problem, StringComparison.Ordinal);
        Assert.Equal(TimeoutStanding.Never, proofs.Of(0).Standing);
    }

    [Fact]
    public void Proofs_FolderThatCantBeWritten_AreTriedAgain()
    {
        var proofs = Make();
        proofs.Note(Measured(0, TimeoutVerdict.Passed), "");
        Directory.Delete(_folder, recursive: true);
        Assert.False(proofs.Step());
        Directory.CreateDirectory(_folder);
        Assert.True(proofs.Step());
        Assert.Equal(TimeoutStanding.Proven, Make().Of(0).Standing);
    }

    private TimeoutProofs Make() => new(
        new MachineBoard(_machine), new TimeoutProofFile(_machine, _folder), () => new ClockReading(At, Noon, UtcQuality.Synchronised), MonotonicClock.System, NullLogger.Instance);

    private MeasuredTimeout Measured(short axis, TimeoutVerdict verdict) => new(
        axis, 5, At - TimeSpan.FromSeconds(2), _machine.Axes[axis].CommunicationTimeout, TimeSpan.FromSeconds(1), 40, 12.5, 20, TimeSpan.FromSeconds(1), TimeSpan.MaxValue) { Verdict = verdict };
}
