namespace Supervisor.Scenarios.Stories;

/// <summary>Many stories one after the other, each with the next seed.</summary>
public sealed class StoryRun(ulong seed, int axes, StoryScope scope = StoryScope.Machine)
{
    /// <summary>Length of one story: short enough to be repeated while someone looks, long enough for a shift's worth of trouble.</summary>
    public static readonly TimeSpan StoryLength = TimeSpan.FromMinutes(15);

    private const int DiaryLines = 80;

    /// <summary>What happened in all stories.</summary>
    public Tally Tally { get; } = new();

    /// <summary>Looks by checker.</summary>
    public Tally Looks { get; } = new();

    /// <summary>What was found.</summary>
    public List<StoryReport> Found { get; } = [];

    /// <summary>Simulated time so far.</summary>
    public TimeSpan Simulated { get; private set; }

    /// <summary>Tells stories for so much simulated time in all, or until so many have findings.</summary>
    public void Run(TimeSpan length, int mostFindings, Action<StoryRun>? afterEach = null)
    {
        for (var left = length; left > TimeSpan.Zero && Found.Count < mostFindings; left -= StoryLength)
        {
            var options = new StoryOptions(seed++, left < StoryLength ? left : StoryLength, axes, scope);
            Tell(options);
            afterEach?.Invoke(this);
        }
    }

    private static string[] Before(Story story) => [.. story.World.Diary.Last(DiaryLines)];

    private void Tell(StoryOptions options)
    {
        var story = new Story(options, Tally);
        var begun = story.World.Queue.Now;
        try
        {
            story.Run();
            Found.AddRange(story.World.Findings.Take(1).Select(finding => new StoryReport(options, finding.ToString(), Before(story))));
        }
#pragma warning disable CA1031 // Whatever it is: an exception under a thread that drives axes is a finding.
        catch (Exception exception)
#pragma warning restore CA1031
        {
            Found.Add(new StoryReport(options, $"{story.World.Queue.Now.TotalSeconds:0.0000} s: {exception}", Before(story)));
        }

        Simulated += story.World.Queue.Now - begun;
        foreach (var checker in story.World.Checkers)
        {
            Looks.Add(checker.Name, checker.Looks);
        }
    }
}
