namespace Supervisor.History.Tests.Storms;

/// <summary>The shim between a process and its disk (<c>disk_shim.c</c>), made with the C compiler of this computer, and its switches.</summary>
internal sealed class DiskShim : IDisposable
{
    private readonly DirectoryInfo _own = Directory.CreateTempSubdirectory("shim-");

    private DiskShim()
    {
    }

    /// <summary>Folder that is watched.</summary>
    public DirectoryInfo Folder { get; } = Directory.CreateTempSubdirectory("cut-");

    /// <summary>What was done to its files.</summary>
    public string Log => Path.Combine(_own.FullName, "log");

    private string Library => Path.Combine(_own.FullName, "disk_shim.so");

    private string Switch => Path.Combine(_own.FullName, "trouble");

    /// <summary>Makes it; skips the test where there is no C compiler, or fails it where peers are required.</summary>
    public static async Task<DiskShim> MakeAsync()
    {
        var shim = new DiskShim();
        await File.WriteAllTextAsync(shim.Switch, "0", TestContext.Current.CancellationToken);
        await Peer.RunAsync(
            "cc", "-std=gnu11", "-O1", "-Wall", "-Wextra", "-Werror", "-shared", "-fPIC", "-o", shim.Library, Path.Combine(AppContext.BaseDirectory, "Storms", "disk_shim.c"), "-ldl", "-lpthread");
        return shim;
    }

    /// <summary>Variables of a process that is to be watched.</summary>
    /// <param name="unsynced">End of the names of files whose syncs are left out; null: none.</param>
    public Dictionary<string, string> Environment(string? unsynced = null)
    {
        var variables = new Dictionary<string, string>
        {
            ["LD_PRELOAD"] = Library,
            ["DISK_SHIM_FOLDER"] = Folder.FullName,
            ["DISK_SHIM_LOG"] = Log,
            ["DISK_SHIM_TROUBLE"] = Switch,
            ["DISK_SHIM_SPARED"] = "acknowledged",
        };
        if (unsynced is not null)
        {
            variables["DISK_SHIM_UNSYNCED"] = unsynced;
        }

        return variables;
    }

    /// <summary>From now on the disk is in trouble, or no more: the letters are told in the shim.</summary>
    public void SetTrouble(char trouble)
    {
        using var file = new FileStream(Switch, FileMode.Open, FileAccess.Write, FileShare.ReadWrite);
        file.WriteByte((byte)trouble);
    }

    public void Dispose()
    {
        _own.Delete(recursive: true);
        Folder.Delete(recursive: true);
    }
}
