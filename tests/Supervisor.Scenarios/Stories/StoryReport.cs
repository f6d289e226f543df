namespace Supervisor.Scenarios.Stories;

/// <summary>A story that broke a rule, with how to see it again.</summary>
/// <param name="Options">The story.</param>
/// <param name="What">What was found.</param>
/// <param name="Before">What happened last before it, oldest first.</param>
public sealed record StoryReport(StoryOptions Options, string What, IReadOnlyList<string> Before)
{
    /// <summary>The command that repeats it.</summary>
    public string Command =>
        $"dotnet run --project tests/Supervisor.Soak -c Release -- --hours {Options.Length.TotalHours:0.####} --seed {Options.Seed} --axes {Options.Axes}{(Options.Scope == StoryScope.Axes ? " --scope axes" : "")}";

    /// <inheritdoc/>
    public override string ToString() => $"{What}\n  repeat: {Command}";
}
