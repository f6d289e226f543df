using Microsoft.Extensions.Logging.Abstractions;
using Supervisor.Bus;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Memories;
using Supervisor.History.Clocks;
using Supervisor.Runtime;
using Supervisor.Runtime.Contact;

namespace Supervisor.Daemon.Tests.Memories;

/// <summary>When a brake was last proven outlives the daemon, and the board where its clock can be trusted.</summary>
public sealed class BrakeProofFileTests : IDisposable
{
    private static readonly DateTimeOffset Monday = new(2026, 3, 2, 6, 0, 0, TimeSpan.Zero);
    private readonly string _folder = Directory.CreateTempSubdirectory("proofs-").FullName;
    private readonly MachineDefinition _machine = SmallMachine.With("slide");

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void Proof_OfThisBoot_IsKnownByTheMonotonicClockAlone()
    {
        Prove(boot: "a", Clocks(100, Monday, UtcQuality.Unsynchronised), at: 90);
        var note = After(boot: "a", Clocks(150, Monday.AddYears(-20), UtcQuality.Unsynchronised));
        Assert.Equal((true, TimeSpan.FromSeconds(90), 0.04), (note.PassedKnown, note.PassedAt, note.Movement));
    }

    [Fact]
    public void Proof_OfAnEarlierBoot_IsKnownByTheWallClock()
    {
        Prove(boot: "a", Clocks(100, Monday, UtcQuality.Synchronised), at: 90);
        var note = After(boot: "b", Clocks(20, Monday.AddHours(3), UtcQuality.Synchronised));
        Assert.True(note.PassedKnown);
        Assert.Equal(-(3 * 3600) + 20 - 10, note.PassedAt.TotalSeconds, 0.01);
    }

    [Theory]
    [InlineData(UtcQuality.Unsynchronised, UtcQuality.Synchronised, 3)]
    [InlineData(UtcQuality.Synchronised, UtcQuality.Unsynchronised, 3)]
    [InlineData(UtcQuality.Synchronised, UtcQuality.Synchronised, -3)]
    public void Proof_OfAnEarlierBootByADoubtfulClock_IsNotKnown(UtcQuality then, UtcQuality now, double hoursLater)
    {
        Prove(boot: "a", Clocks(100, Monday, then), at: 90);
        Assert.False(After(boot: "b", Clocks(20, Monday.AddHours(hoursLater), now)).PassedKnown);
    }

    /// <summary>A board without a battery clock learns the time only from the network.</summary>
    [Fact]
    public void Memory_OnceTheClockIsRight_IsTold()
    {
        Prove(boot: "a", Clocks(100, Monday, UtcQuality.Synchronised), at: 90);
        var now = Clocks(20, Monday.AddYears(-30), UtcQuality.Unsynchronised);
        var (board, keeper) = Keeper("b", () => now);
        Assert.False(board.ProofMemories[0].Read().PassedKnown);
        now = Clocks(60, Monday.AddHours(1), UtcQuality.Synchronised);
        keeper.Step();
        Assert.True(board.ProofMemories[0].Read().PassedKnown);
    }

    [Fact]
    public void Write_WithAClockThatBecomesRightLater_IsCorrected()
    {
        var now = Clocks(100, Monday.AddYears(-30), UtcQuality.Unsynchronised);
        var (board, keeper) = Keeper("a", () => now);
        board.Proofs[0].Write(new BrakeProofNote { Version = 1, PassedKnown = true, PassedAt = TimeSpan.FromSeconds(90) });
        keeper.Step();
        now = Clocks(200, Monday, UtcQuality.Synchronised);
        keeper.Step();
        Assert.True(After(boot: "b", Clocks(20, Monday.AddHours(1), UtcQuality.Synchronised)).PassedKnown);
    }

    [Fact]
    public void FailedBrake_OutlivesARestart()
    {
        var (board, keeper) = Keeper("a", () => Clocks(100, Monday, UtcQuality.Synchronised));
        board.Proofs[0].Write(new BrakeProofNote { Version = 1, Failed = true });
        Assert.True(keeper.Step());
        Assert.True(After(boot: "b", Clocks(20, Monday, UtcQuality.Unsynchronised)).Failed);
    }

    /// <summary>A supervisor that starts anew must know before it says its first word.</summary>
    [Fact]
    public void HeldLoad_OutlivesARestartUntilItIsLetGo()
    {
        var machine = _machine with { Axes = [_machine.Axes[0] with { Brake = new BrakeDefinition(default, default) { Proof = new BrakeProofDefinition(60, default, 0.2, 0.8) } }] };
        var file = new BrakeProofFile(machine, _folder);
        Assert.Equal([false], file.ReadHeldLoads());
        var (board, keeper) = Keeper("a", () => Clocks(100, Monday, UtcQuality.Synchronised));
        board.Proofs[0].Write(new BrakeProofNote { Version = 1, Failed = true, LoadHeld = true });
        Assert.True(keeper.Step());
        Assert.Equal([true], file.ReadHeldLoads());

        // An axis whose machine file has no proof any more has no brake that could have failed it.
        Assert.Equal([false], new BrakeProofFile(_machine, _folder).ReadHeldLoads());

        // What the next run does not know yet is not forgotten; what it learns is.
        (board, keeper) = Keeper("b", () => Clocks(20, Monday, UtcQuality.Synchronised));
        keeper.Step();
        Assert.Equal([true], file.ReadHeldLoads());
        board.Proofs[0].Write(new BrakeProofNote { Version = 1, Failed = true });
        keeper.Step();
        Assert.Equal([false], file.ReadHeldLoads());
    }

    [Theory]
    [InlineData("{")]
    [InlineData("""{ "axes": [ { "name": "slide" } ] }""")]
    public void File_ThatIsDamaged_ForgivesNoBrake(string text)
    {
        File.WriteAllText(Path.Combine(_folder, "brake-proofs.json"), text);
        var (board, keeper) = Keeper("a", () => Clocks(100, Monday, UtcQuality.Synchronised));
        Assert.Contains("brake-proofs.json", keeper.Problem, StringComparison.Ordinal);
        Assert.True(board.ProofMemories[0].Read().Failed);
    }

    private void Prove(string boot, ClockReading now, double at)
    {
        var (board, keeper) = Keeper(boot, () => now);
        board.Proofs[0].Write(new BrakeProofNote { Version = 1, PassedKnown = true, PassedAt = TimeSpan.FromSeconds(at), Movement = 0.04 });
        Assert.True(keeper.Step());
    }

    private BrakeProofNote After(string boot, ClockReading now) => Keeper(boot, () => now).Board.ProofMemories[0].Read();

    private (MachineBoard Board, BrakeProofKeeper Keeper) Keeper(string boot, Func<ClockReading> clocks)
    {
        var board = new MachineBoard(_machine);
        return (board, new BrakeProofKeeper(board, new BrakeProofFile(_machine, _folder), clocks, boot, MonotonicClock.System, NullLogger.Instance));
    }

    private static ClockReading Clocks(double monotonic, DateTimeOffset utc, UtcQuality quality) => new(TimeSpan.FromSeconds(monotonic), utc, quality);
}
