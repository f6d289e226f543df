using System.Runtime.Versioning;
using Supervisor.Interop.Peers;

[assembly: AssemblyFixture(typeof(DriveSlaveProgram))]

namespace Supervisor.Interop.Peers;

/// <summary>The C program that serves a small drive by libmodbus: compiled once for all tests, from the sources beside this file.</summary>
[SupportedOSPlatform("linux")]
public sealed class DriveSlaveProgram : IDisposable
{
    private readonly Lazy<string> _folder = new(Compile);

    /// <summary>A drive with CiA 402 words: <c>Definitions/libmodbus-cia402.drive.json</c>.</summary>
    public const string Cia402 = "cia402";

    /// <summary>A drive with plain bits: <c>Definitions/libmodbus-bits.drive.json</c>.</summary>
    public const string Bits = "bits";

    /// <summary>A drive with CiA 402 words that is written word by word: <c>Definitions/libmodbus-single.drive.json</c>.</summary>
    public const string Single = "single";

    /// <summary>A drive that is unlocked first and acknowledges every edge: <c>Definitions/libmodbus-awkward.drive.json</c>.</summary>
    public const string Awkward = "awkward";

    /// <summary>Path of the definition of a kind.</summary>
    public static string Definition(string kind) => Path.Combine(AppContext.BaseDirectory, "Definitions", $"libmodbus-{kind}.drive.json");

    /// <summary>
    /// Serves a drive at an address on a device node until it is disposed. Its lines: <c>input N 0|1</c>, <c>fault CODE</c>, <c>mute 0|1</c>, <c>where MARK</c>.
    /// Skips the test when the library is not installed.
    /// </summary>
    internal PeerProcess Start(string device, byte address, string kind)
    {
        Peer.Require(Peer.Libmodbus);
        return PeerProcess.Start(Path.Combine(_folder.Value, "drive_slave"), [device, $"{address}", kind], "ready");
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
        var folder = Directory.CreateTempSubdirectory("drive-slave-").FullName;
        var (found, flags) = PeerProcess.Run("pkg-config", ["--cflags", "--libs", "libmodbus"]);
        Assert.True(found == 0, flags);
        var sources = Directory.GetFiles(Path.Combine(AppContext.BaseDirectory, "Peers"), "*.c");
        Assert.NotEmpty(sources);
        var (code, errors) = PeerProcess.Run(
            "cc", ["-std=gnu11", "-O1", "-o", Path.Combine(folder, "drive_slave"), .. sources, .. flags.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries), "-lm"]);
        Assert.True(code == 0, errors);
        return folder;
    }
}
