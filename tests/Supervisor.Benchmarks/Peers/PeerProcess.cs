using System.Diagnostics;

namespace Supervisor.Benchmarks.Peers;

/// <summary>A program beside the benchmark that is spoken to by lines, and ends with its input.</summary>
internal sealed class PeerProcess : IDisposable
{
    private static readonly TimeSpan EndPatience = TimeSpan.FromSeconds(10);
    private readonly Process _process;

    private PeerProcess(Process process) => _process = process;

    /// <summary>Number of the process.</summary>
    public int Id => _process.Id;

    public static PeerProcess Start(string program, IEnumerable<string> arguments) =>
        new(Process.Start(new ProcessStartInfo(program, arguments) { RedirectStandardInput = true, RedirectStandardOutput = true })!);

    /// <summary>Starts this same program once more.</summary>
    public static PeerProcess Self(params string[] arguments)
    {
        var path = Environment.ProcessPath ?? throw new InvalidOperationException("the system does not tell the path of this program");
        var isHost = Path.GetFileNameWithoutExtension(path) == "dotnet";
        return Start(path, isHost ? [typeof(PeerProcess).Assembly.Location, .. arguments] : arguments);
    }

    /// <summary>The next line that it writes.</summary>
    /// <exception cref="InvalidOperationException">It has ended.</exception>
    public string Read() => _process.StandardOutput.ReadLine() ?? throw new InvalidOperationException($"{_process.StartInfo.FileName} has ended; its errors stand above");

    /// <summary>Writes a line and reads the answer.</summary>
    public string Ask(string line)
    {
        _process.StandardInput.WriteLine(line);
        _process.StandardInput.Flush();
        return Read();
    }

    public void Dispose()
    {
        _process.StandardInput.Close();
        if (!_process.WaitForExit(EndPatience))
        {
            _process.Kill();
            _process.WaitForExit();
        }

        _process.Dispose();
    }
}
