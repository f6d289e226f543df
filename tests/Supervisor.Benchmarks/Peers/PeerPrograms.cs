using System.Diagnostics;

namespace Supervisor.Benchmarks.Peers;

/// <summary>The C programs beside this file, compiled when a suite needs them: a slave in its own process, and a master on libmodbus to be compared with.</summary>
internal sealed class PeerPrograms : IDisposable
{
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("benchmark-peers-");

    private PeerPrograms()
    {
    }

    /// <summary>Compiles them.</summary>
    /// <param name="missing">What is not there and how to get it; empty when they are compiled.</param>
    /// <returns>Null where something is missing.</returns>
    public static PeerPrograms? Compile(out string missing)
    {
        missing = WhyNot();
        if (missing.Length > 0)
        {
            return null;
        }

        var programs = new PeerPrograms();
        try
        {
            programs.Compile("line_slave", []);
            programs.Compile("libmodbus_master", Output("pkg-config", "--cflags", "--libs", "libmodbus").Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries));
            return programs;
        }
        catch
        {
            programs.Dispose();
            throw;
        }
    }

    /// <summary>Starts a slave; its first line of output is its device node.</summary>
    /// <param name="baud">Rate whose times it keeps, 11 bits a byte; 0: it answers at once.</param>
    /// <param name="turnaround">Time between request and reply besides.</param>
    /// <param name="silence">Silence that a master must keep behind a reply.</param>
    public PeerProcess Slave(int baud, TimeSpan turnaround, TimeSpan silence) =>
        PeerProcess.Start(Path("line_slave"), [$"{baud}", $"{turnaround.TotalMicroseconds:0}", $"{silence.TotalMicroseconds:0}"]);

    /// <summary>Starts a master on libmodbus.</summary>
    public PeerProcess Master(string device) => PeerProcess.Start(Path("libmodbus_master"), [device]);

    public void Dispose() => _folder.Delete(recursive: true);

    private static string WhyNot()
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
        return process.ExitCode == 0 ? "" : "libmodbus is not installed (Debian: apt-get install libmodbus-dev)";
    }

    private static bool IsOnPath(string program) =>
        (Environment.GetEnvironmentVariable("PATH") ?? "").Split(':', StringSplitOptions.RemoveEmptyEntries).Any(folder => File.Exists(System.IO.Path.Combine(folder, program)));

    private static string Output(string program, params string[] arguments)
    {
        using var process = Process.Start(new ProcessStartInfo(program, arguments) { RedirectStandardOutput = true })!;
        var output = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        return process.ExitCode == 0 ? output : throw new InvalidOperationException($"{program} {string.Join(' ', arguments)} ended with {process.ExitCode}");
    }

    private void Compile(string name, string[] flags) =>
        Output("cc", ["-std=gnu11", "-O2", "-o", Path(name), System.IO.Path.Combine(AppContext.BaseDirectory, "Peers", $"{name}.c"), .. flags]);

    private string Path(string name) => System.IO.Path.Combine(_folder.FullName, name);
}
