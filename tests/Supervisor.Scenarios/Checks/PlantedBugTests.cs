using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Checks;

/// <summary>Every checker finds something where there is something to find: one planted bug each.</summary>
public sealed class PlantedBugTests
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

    private static void Finds<T>(Action<Story> plant)
        where T : Checker
    {
        // Not every machine has what the rule is about, and not every life comes to it.
        const ulong first = 4711;
        for (var seed = first; seed < first + 8; seed++)
        {
            var story = new Story(new StoryOptions(seed, TimeSpan.FromMinutes(15), 4), new Tally());
            plant(story);
            story.Run();
            if (story.World.Findings.Count > 0)
            {
                Assert.Equal(typeof(T).Name, story.World.Findings[0].Checker);
                return;
            }
        }

        Assert.Fail($"seeds from {first}: nothing was found");
    }
}
