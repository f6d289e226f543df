namespace Supervisor.Scenarios.Stories.Extras;

/// <summary>What happens in a story to the machine's extras, with dice of its own.</summary>
public sealed class StoryExtras
{
    /// <param name="story">Where it happens.</param>
    /// <param name="dice">Decides it.</param>
    /// <param name="people">Who works at the machine.</param>
    /// <param name="interlocks">What trips it.</param>
    /// <param name="board">What befalls the supervisor's board.</param>
    /// <param name="calm">How much rarer troubles are than in a life without calm.</param>
    public StoryExtras(Story story, Dice dice, People people, InterlockTroubles interlocks, BoardTroubles board, double calm)
    {
        ArgumentNullException.ThrowIfNull(story);
        Brakes = new BrakeLife(story.World, dice, people, interlocks);
        Loads = new LoadLife(story.World, dice, people, board);
        Outputs = new OutputLife(story.World, dice, people);
        story.Every(20, Brakes.Prove);
        story.Every(5, Brakes.ProveWhatIsDue);
        story.Every(90 * calm, Brakes.Weaken);
        story.Every(45 * calm, Loads.Load);
        story.Every(60 * calm, Loads.ReadOut);
        story.Every(15, Loads.Repair);
        story.Every(60 * calm, Loads.Lock);
        story.Every(4 * calm, new BadMoments(story.World, dice, people).LieInWait);
        story.Every(8, new ZoneLife(story.World, dice, people).Vouch);
        story.Every(6, Outputs.Set);
        story.Every(60 * calm, Outputs.RestartModule);
        story.Every(60 * calm, Outputs.UnplugModule);
        story.Every(90 * calm, Outputs.ShortOutput);
        story.Every(180 * calm, Outputs.MakeStubborn);
    }

    /// <summary>Proofs of brakes.</summary>
    public BrakeLife Brakes { get; }

    /// <summary>Sets of parameters.</summary>
    public LoadLife Loads { get; }

    /// <summary>Outputs and modules.</summary>
    public OutputLife Outputs { get; }
}
