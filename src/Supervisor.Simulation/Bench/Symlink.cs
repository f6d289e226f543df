namespace Supervisor.Simulation.Bench;

/// <summary>The link by which a program finds a device node that changes its name with every plugging in.</summary>
internal static class Symlink
{
    /// <summary>Points <paramref name="link"/> at <paramref name="target"/>, in place of an older link.</summary>
    /// <exception cref="IOException">Something that is no link is there.</exception>
    public static void Place(string link, string target)
    {
        Remove(link);
        File.CreateSymbolicLink(link, target);
    }

    /// <summary>Removes the link if it is there.</summary>
    /// <exception cref="IOException">Something that is no link is there.</exception>
    public static void Remove(string link)
    {
        var file = new FileInfo(link);
        if (file.LinkTarget is not null)
        {
            file.Delete();
        }
        else if (file.Exists || Directory.Exists(link))
        {
            throw new IOException($"{link} is in the way: it is no symbolic link. Remove it or choose another folder for links.");
        }
    }
}
