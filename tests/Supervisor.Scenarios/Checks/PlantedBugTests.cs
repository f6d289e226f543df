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

    private static void Finds<T>(Action<Story> plant)
        where T : Checker
    {
        const ulong seed = 4711;
        var story = new Story(new StoryOptions(seed, TimeSpan.FromMinutes(15), 4), new Tally());
        plant(story);
        story.Run();
        Assert.True(story.World.Findings.Count > 0, $"seed {seed}: nothing was found");
        Assert.Equal(typeof(T).Name, story.World.Findings[0].Checker);
    }
}
