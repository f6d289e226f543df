using System.Runtime.Versioning;
using Supervisor.Interop.Peers;

[assembly: AssemblyFixture(typeof(ModuleSlaveProgram))]

namespace Supervisor.Interop.Peers;

/// <summary>The C program that serves a module of inputs and outputs by libmodbus: compiled once for all tests.</summary>
[SupportedOSPlatform("linux")]
public sealed class ModuleSlaveProgram : IDisposable
{
    private readonly Lazy<string> _folder = new(Compile);

    /// <summary>Serves a module at an address on a device node until it is disposed. Its lines are told in its source. Skips the test when the library is not installed.</summary>
    internal PeerProcess Start(string device, byte address)
    {
        Peer.Require(Peer.Libmodbus);
        return PeerProcess.Start(Path.Combine(_folder.Value, "module_slave"), [device, $"{address}"], "ready");
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        if (_folder.IsValueCreated)
        {
            Directory.Delete(_folder.Value, recursive: true);
        }
    }

    private static string Compile()
    {
        var folder = Directory.CreateTempSubdirectory("module-slave-").FullName;
        var (found, flags) = PeerProcess.Run("pkg-config", ["--cflags", "--libs", "libmodbus"]);
        Assert.True(found == 0, flags);
        var source = Path.Combine(AppContext.BaseDirectory, "Peers", "Modules", "module_slave.c");
        var (code, errors) = PeerProcess.Run(
            "cc", ["-std=gnu11", "-O1", "-Wall", "-Werror", "-o", Path.Combine(folder, "module_slave"), source, .. flags.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries)]);
        Assert.True(code == 0, errors);
        return folder;
    }
}
