using System.Xml.Linq;

namespace Supervisor.Daemon.Tests.House;

/// <summary>Lower floors know nothing of higher ones. The table is the project's own; DEVELOPERS.md shows it to people.</summary>
public sealed class ReferenceTests
{
    /// <summary>What each project may name, in the order of the floors. The daemon may use all.</summary>
    private static readonly Dictionary<string, string[]> Allowed = new(StringComparer.Ordinal)
    {
        ["Motion"] = [],
        ["Bus"] = [],
        ["Records"] = [],
        ["Configuration"] = ["Motion", "Records"],
        ["History"] = ["Records"],
        ["Drives"] = ["Bus", "Configuration", "Records"],
        ["Simulation"] = ["Bus", "Configuration", "Motion"],
        ["Runtime"] = ["Drives", "Motion", "Records"],
        ["Machine"] = ["Runtime", "Configuration"],
        ["Production"] = ["Machine"],
        ["Daemon"] = ["Motion", "Bus", "Records", "Configuration", "History", "Drives", "Simulation", "Runtime", "Machine", "Production"],
    };

    private static readonly string Source = Path.Combine(Repository.Root, "src");

    [Fact]
    public void Source_EveryProject_IsInTheTable()
    {
        var found = Directory.EnumerateFiles(Source, "*.csproj", SearchOption.AllDirectories).Select(NameOf).Order(StringComparer.Ordinal);

        Assert.Equal(Allowed.Keys.Order(StringComparer.Ordinal), found);
    }

    [Fact]
    public void References_EveryProject_NamesOnlyWhatItMay()
    {
        var wrong =
            from project in Allowed.Keys
            from reference in References(project)
            where !Allowed[project].Contains(reference)
            select $"{project} must not name {reference}";

        Assert.Empty(wrong);
    }

    [Fact]
    public void References_OfTheDaemon_AreFound()
    {
        // The reading itself would otherwise pass by finding nothing.
        Assert.NotEmpty(References("Daemon"));
        Assert.Contains("Records", References("Configuration"));
    }

    [Fact]
    public void Table_NoProject_ReachesItself()
    {
        foreach (var project in Allowed.Keys)
        {
            Assert.DoesNotContain(project, Reached(project));
        }
    }

    private static HashSet<string> Reached(string project)
    {
        var reached = new HashSet<string>(StringComparer.Ordinal);
        var open = new Stack<string>(Allowed[project]);
        while (open.TryPop(out var next))
        {
            if (reached.Add(next))
            {
                foreach (var further in Allowed[next])
                {
                    open.Push(further);
                }
            }
        }

        return reached;
    }

    private static string[] References(string project) =>
    [
        .. XDocument.Load(ProjectFile(project)).Descendants("ProjectReference").Select(reference => NameOf(reference.Attribute("Include")!.Value)),
    ];

    private static string ProjectFile(string project) => Path.Combine(Source, $"Supervisor.{project}", $"Supervisor.{project}.csproj");

    private static string NameOf(string path) => Path.GetFileNameWithoutExtension(path.Replace('\\', '/')).Replace("Supervisor.", "", StringComparison.Ordinal);
}
