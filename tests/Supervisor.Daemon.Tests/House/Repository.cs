namespace Supervisor.Daemon.Tests.House;

/// <summary>Where the sources lie.</summary>
internal static class Repository
{
    /// <summary>The folder of the solution.</summary>
    public static string Root { get; } = Find();

    private static string Find()
    {
        for (var folder = new DirectoryInfo(AppContext.BaseDirectory); folder is not null; folder = folder.Parent)
        {
            if (File.Exists(Path.Combine(folder.FullName, "Supervisor.sln")))
            {
                return folder.FullName;
            }
        }

        throw new InvalidOperationException("Supervisor.sln is in no folder above the tests");
    }
}
