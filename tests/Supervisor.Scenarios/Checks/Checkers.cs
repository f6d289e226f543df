using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Checks;

/// <summary>The rules every story is judged by.</summary>
public static class Checkers
{
    /// <summary>One checker for each rule.</summary>
    public static IReadOnlyList<Checker> All(StoryWorld world) =>
    [
        new MotionFrames(world),
        new Stopping(world),
        new StateTruth(world),
        new SoftLimits(world),
        new Readings(world),
        new References(world),
        new Answers(world),
        new DoneTruth(world),
        new FaultsKept(world),
        new Commanded(world),
        new Recoveries(world),
        new Interlocks(world),
        new Jogs(world),
        new HistoryKept(world),
        new BrakeProofs(world),
        new Loads(world),
        new Outputs(world),
        new Zones(world),
    ];
}
