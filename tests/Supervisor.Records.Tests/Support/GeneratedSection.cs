namespace Supervisor.Tests.Support;

/// <summary>
/// A part of a document that is made from the program: between <c>&lt;!-- begin NAME --&gt;</c> and <c>&lt;!-- end NAME --&gt;</c>.
/// The test compares; with <c>SUPERVISOR_REWRITE_DOCUMENTS=1</c> in the environment it writes instead.
/// </summary>
internal static class GeneratedSection
{
    private const string Rewrite = "SUPERVISOR_REWRITE_DOCUMENTS";

    /// <summary>Fails unless the section holds <paramref name="expected"/>.</summary>
    /// <param name="document">File, relative to the repository.</param>
    /// <param name="name">Name in the marks.</param>
    /// <param name="expected">Lines, without the marks.</param>
    /// <param name="project">Test project that writes it, for who has to.</param>
    public static void Check(string document, string name, string expected, string project)
    {
        var path = Path.Combine(Root(), document);
        var text = File.ReadAllText(path);
        string begin = $"<!-- begin {name}", end = $"<!-- end {name} -->";
        var from = text.IndexOf(begin, StringComparison.Ordinal);
        var to = text.IndexOf(end, StringComparison.Ordinal);
        Assert.True(from >= 0 && to > from, $"{document} has no section {name}: put \"{begin} -->\" and \"{end}\" around it");
        from = text.IndexOf('\n', from) + 1;
        var wanted = $"\n{expected.Trim()}\n\n";
        if (Environment.GetEnvironmentVariable(Rewrite) == "1")
        {
            File.WriteAllText(path, $"{text[..from]}{wanted}{text[to..]}");
            return;
        }

        Assert.True(
            text[from..to] == wanted,
            $"{document}, section {name}, is not what the program says; `{Rewrite}=1 dotnet test --project tests/{project}` writes it anew. {Difference(text[from..to], wanted)}");
    }

    private static string Difference(string found, string wanted)
    {
        string[] theirs = found.Split('\n'), ours = wanted.Split('\n');
        for (var line = 0; line < Math.Max(theirs.Length, ours.Length); line++)
        {
            string has = line < theirs.Length ? theirs[line] : "(end)", needs = line < ours.Length ? ours[line] : "(end)";
            if (has != needs)
            {
                return $"First difference: it has \"{has}\", the program says \"{needs}\"";
            }
        }

        return "";
    }

    private static string Root()
    {
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (!File.Exists(Path.Combine(folder.FullName, "Supervisor.sln")))
        {
            folder = folder.Parent ?? throw new InvalidOperationException("No Supervisor.sln above the tests: run them inside the repository");
        }

        return folder.FullName;
    }
}
