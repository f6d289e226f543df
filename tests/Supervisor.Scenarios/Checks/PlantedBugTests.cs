using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Runtime.Axes;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Checks;

/// <summary>Every checker finds something where there is something to find: one planted bug each.</summary>
public sealed class PlantedBugTests(ITestOutputHelper output)
{
    [Fact]
    public void MotionFrames_CausesNobodyReads_AreFound() =>
        Finds<MotionFrames>(story => story.Checker<MotionFrames>().PlantedCauses = ulong.MaxValue);

    [Fact]
    public void Stopping_AStopNobodyHears_IsFound() => Finds<Stopping>(story =>
    {
        var checker = story.Checker<Stopping>();
        story.Every(5, () =>
        {
            for (var axis = 0; axis < story.World.Machine.Axes.Count; axis++)
            {
                checker.PlantStop(axis);
            }
        });
    });

    [Fact]
    public void StateTruth_AxesAlwaysShownReady_AreFound() =>
        Finds<StateTruth>(story => story.Checker<StateTruth>().ShowsAlwaysReady = true);

    [Fact]
    public void SoftLimits_NarrowerThanTheSupervisorKnows_AreFound() =>
        Finds<SoftLimits>(story => story.Checker<SoftLimits>().Narrower = 0.3);

    [Fact]
    public void Readings_TakenForTheNeighbours_AreFound() =>
        Finds<Readings>(story => story.Checker<Readings>().MistakesDrives = true);

    [Fact]
    public void References_WithMarksElsewhere_AreFound() =>
        Finds<References>(story => story.Checker<References>().Misplaced = 0.5);

    [Fact]
    public void Answers_LaterThanPromised_AreFound() =>
        Finds<Answers>(story => story.Checker<Answers>().Patience = TimeSpan.FromMilliseconds(500));

    [Fact]
    public void DoneTruth_WhatIsNotDone_IsFound() =>
        Finds<DoneTruth>(story => story.Checker<DoneTruth>().TakesAllForDone = true);

    [Fact]
    public void FaultsKept_OneThatIsLost_IsFound() =>
        Finds<FaultsKept>(story => story.Checker<FaultsKept>().LosesOneIn = 3);

    [Fact]
    public void Commanded_MotionThatNobodyAskedFor_IsFound() =>
        Finds<Commanded>(story => story.Checker<Commanded>().ForgetsCommands = true);

    [Fact]
    public void Recoveries_WhereTheFilePermitsNone_AreFound() =>
        Finds<Recoveries>(story => story.Checker<Recoveries>().PermitsNothing = true);

    [Fact]
    public void Interlocks_OpenAndNotTripped_AreFound() =>
        Finds<Interlocks>(story => story.Checker<Interlocks>().TakesAllForOpen = true);

    [Fact]
    public void Jogs_WhoseButtonIsNotHeld_AreFound() =>
        Finds<Jogs>(story => story.Checker<Jogs>().ForgetsRefreshes = true);

    [Fact]
    public void HistoryKept_ARecordThatIsAcknowledgedAndNotStored_IsFound() =>
        Finds<HistoryKept>(story => story.World.Disk.DropsOneIn = 7);

    [Fact]
    public void HistoryKept_ARecordThatIsStoredTwice_IsFound() =>
        Finds<HistoryKept>(story => story.World.Disk.DoublesOneIn = 7);

    [Fact]
    public void HistoryKept_ATimeThatNoClockSaid_IsFound() =>
        Finds<HistoryKept>(story => story.World.Clock.TellsWrongBy = TimeSpan.FromMinutes(1));

    [Fact]
    public void Answers_OneThatNeverComes_IsFound() =>
        Finds<Answers>(story => story.World.SwallowsAnswers = true);

    /// <summary>Moves given to the ports, past the coordinator that refuses them to whoever asks.</summary>
    [Fact]
    public void BrakeProofs_AnAxisThatMovesMeanwhile_IsFound() => Finds<BrakeProofs>(
        story =>
        {
            story.Every(8, story.Extras!.Brakes.Prove);
            story.Every(0.1, () => MoveWhileBrakesAreProven(story.World));
        },
        StoryScope.Machine,
        first: 4714);

    [Fact]
    public void Loads_BegunBeforeACrashAndForgotten_AreFound() => Finds<Loads>(
        story =>
        {
            story.World.Loads.IsForgotten = true;
            story.Every(10, story.Extras!.Loads.Load);
        },
        StoryScope.Machine,
        first: 4716);

    [Fact]
    public void Outputs_TakenForTheOnesBeside_AreFound() => Finds<Outputs>(story => story.Checker<Outputs>().MistakesPlaces = true, StoryScope.Machine);

    [Fact]
    public void Zones_ThatNobodyKeeps_AreFound() => Finds<Zones>(story => story.World.HidesZones = true, StoryScope.Machine, first: 4714);

    private static void MoveWhileBrakesAreProven(StoryWorld world)
    {
        if (world.Supervisor?.Axes is { } axes && axes.Any(axis => axis.Node == AxisNode.ProvingBrake))
        {
            foreach (var axis in axes.Where(axis => axis.Node == AxisNode.Ready))
            {
                Bypass(world, axis.Definition, axis.Index);
            }
        }
    }

    private static void Bypass(StoryWorld world, AxisDefinition axis, int index)
    {
        var limits = axis.Limits;
        var board = world.Supervisor!.Board;
        world.Give(new MoveCommand([new MoveTarget(index, limits.Velocity, true)], null), null);
        board.Ports[axis.Port].Mailbox.TryWrite(new AxisCommand(
            1_000_000, (short)index, AxisCommandKind.MoveBy, board.Latch.StopEpoch(index), limits.Velocity * 0.3, limits.Velocity, limits.Acceleration, limits.Deceleration, 0));
    }

    private void Finds<T>(Action<Story> plant, StoryScope scope = StoryScope.Axes, ulong first = 4711)
        where T : Checker
    {
        // Not every machine has what the rule is about, and not every life comes to it.
        for (var seed = first; seed < first + 8; seed++)
        {
            var story = new Story(new StoryOptions(seed, TimeSpan.FromMinutes(15), 4, scope), new Tally());
            plant(story);
            story.Run();
            if (story.World.Findings.Count > 0)
            {
                output.WriteLine($"seed {seed}: {story.World.Findings[0]}");
                Assert.Equal(typeof(T).Name, story.World.Findings[0].Checker);
                return;
            }
        }

        Assert.Fail($"seeds from {first}: nothing was found");
    }
}
