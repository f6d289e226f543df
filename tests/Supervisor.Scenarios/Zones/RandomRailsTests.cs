namespace Supervisor.Scenarios.Zones;

/// <summary>Random commands on a machine with zones never make the plants touch; each planted bug lets them.</summary>
public sealed class RandomRailsTests(ITestOutputHelper output)
{
    private const ulong First = 20_261;
    private const double Seconds = 120;

    [Fact]
    public void RandomCommands_NeverMakeThePlantsTouch()
    {
        var (moved, refused) = (0, 0);
        for (var seed = First; seed < First + 12; seed++)
        {
            var story = new RandomRails(seed);
            story.Run(Seconds);
            Assert.Null(story.Collision);

            // What is predicted rightly gives the watch nothing to stop.
            Assert.True(story.Trips == 0, $"seed {seed}: {story.Trips} trips of the watch");
            (moved, refused) = (moved + story.Moved, refused + story.Refused);
        }

        output.WriteLine($"seeds from {First}: {moved} commands done, {refused} refused by zones");
        Assert.True(moved > 200 && refused > 100, $"{moved} commands done, {refused} refused by zones: too few to show anything");
    }

    [Fact]
    public void RandomCommands_OnLinesThatFallSilent_NeverMakeThePlantsTouch()
    {
        var trips = 0;
        for (var seed = First; seed < First + 8; seed++)
        {
            var story = new RandomRails(seed) { Disturbed = true };
            story.Run(Seconds);
            Assert.Null(story.Collision);
            trips += story.Trips;
        }

        output.WriteLine($"seeds from {First}: {trips} trips of the watch");
        Assert.True(trips > 0, "the watch had nothing to stop");
    }

    /// <summary>With the prediction gone round, the watch alone still keeps them apart.</summary>
    [Fact]
    public void RandomCommands_ThatGoRoundThePrediction_AreStoppedByTheWatch()
    {
        var trips = 0;
        for (var seed = First; seed < First + 8; seed++)
        {
            var story = new RandomRails(seed) { Bypass = 0.5 };
            story.Run(Seconds);
            Assert.Null(story.Collision);
            trips += story.Trips;
        }

        output.WriteLine($"seeds from {First}: {trips} trips of the watch");
        Assert.True(trips > 20, $"{trips} trips: too few to show anything");
    }

    [Fact]
    public void PlantedBug_ZonesThatNobodyKeeps_IsFound() => Finds(seed => new RandomRails(seed, keepsZones: false));

    [Fact]
    public void PlantedBug_AZoneWhoseOffsetIsWrong_IsFound() => Finds(seed => new RandomRails(seed, nearer: 30));

    [Fact]
    public void PlantedBug_CommandsThatNeitherPredictionNorWatchSee_IsFound() => Finds(seed => new RandomRails(seed) { Bypass = 0.2, BypassIsExcused = true });

    private void Finds(Func<ulong, RandomRails> begin)
    {
        for (var seed = First; seed < First + 12; seed++)
        {
            var story = begin(seed);
            story.Run(Seconds);
            if (story.Collision is { } collision)
            {
                output.WriteLine(collision);
                return;
            }
        }

        Assert.Fail($"seeds from {First}: nothing touched");
    }
}
