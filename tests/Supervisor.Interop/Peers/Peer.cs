using System.Diagnostics;

namespace Supervisor.Interop.Peers;

/// <summary>Outside programs and libraries a test speaks to. A test without its peer is skipped with the reason, and fails where peers are required.</summary>
internal static class Peer
{
    /// <summary>libmodbus with its headers, and a C compiler.</summary>
    public const string Libmodbus = "libmodbus";

    /// <summary>The Modbus command line master of that name.</summary>
    public const string Mbpoll = "mbpoll";

    /// <summary>linux/gpio.h with version 2 of its interface, and a C compiler.</summary>
    public const string GpioHeader = "linux/gpio.h";

    private const string RequiredVariable = "SUPERVISOR_REQUIRE_PEERS";

    private static readonly Dictionary<string, Lazy<string?>> Missing = new(StringComparer.Ordinal)
    {
        [Libmodbus] = new(WhyNoLibmodbus),
        [GpioHeader] = new(WhyNoGpioHeader),
        [Mbpoll] = new(() => IsOnPath("mbpoll") ? null : "mbpoll is not installed (Debian: apt-get install mbpoll)"),
    };

    /// <summary>Goes on when the peer is there; else skips the test, or fails it when SUPERVISOR_REQUIRE_PEERS is 1.</summary>
    public static void Require(string name)
    {
        Assert.SkipUnless(OperatingSystem.IsLinux(), "Pseudo-terminals are Linux's.");
        Demand(Missing[name].Value, Environment.GetEnvironmentVariable(RequiredVariable) == "1");
    }

    /// <summary>The decision itself.</summary>
    internal static void Demand(string? missing, bool required)
    {
        if (missing is null)
        {
            return;
        }

        if (required)
        {
            Assert.Fail($"{missing}; {RequiredVariable}=1 makes that a failure");
        }

        Assert.Skip(missing);
    }

    internal static bool IsOnPath(string program) =>
        (Environment.GetEnvironmentVariable("PATH") ?? "").Split(':', StringSplitOptions.RemoveEmptyEntries).Any(folder => File.Exists(Path.Combine(folder, program)));

    private static string? WhyNoGpioHeader()
    {
        const string header = "/usr/include/linux/gpio.h";
        return !IsOnPath("cc") ? "cc is not installed (Debian: apt-get install gcc)"
            : !File.Exists(header) || !File.ReadAllText(header).Contains("GPIO_V2_GET_LINE_IOCTL", StringComparison.Ordinal)
                ? $"{header} of a kernel of 5.10 or newer is not installed (Debian: apt-get install linux-libc-dev)"
                : null;
    }

    private static string? WhyNoLibmodbus()
    {
        foreach (var (program, package) in new[] { ("cc", "gcc"), ("pkg-config", "pkg-config") })
        {
            if (!IsOnPath(program))
            {
                return $"{program} is not installed (Debian: apt-get install {package})";
            }
        }

        using var process = Process.Start("pkg-config", ["--exists", "libmodbus"]);
        process.WaitForExit();
        return process.ExitCode == 0 ? null : "libmodbus is not installed (Debian: apt-get install libmodbus-dev)";
    }
}
