using System.Diagnostics;
using System.Text;

namespace Supervisor.Interop.Peers;

/// <summary>An outside program that runs beside a test and ends with it.</summary>
internal sealed class PeerProcess : IDisposable
{
    /// <summary>Bound of every wait for a process.</summary>
    public static readonly TimeSpan Patience = TimeSpan.FromSeconds(30);

    private readonly Process _process;
    private readonly StringBuilder _output = new();
    private readonly ManualResetEventSlim _ready = new();
    private readonly string? _readyLine;

    private PeerProcess(Process process, string? readyLine)
    {
        _process = process;
        _readyLine = readyLine;
    }

    /// <summary>Everything it wrote so far.</summary>
    public string Output
    {
        get
        {
            lock (_output)
            {
                return _output.ToString();
            }
        }
    }

    /// <summary>Starts a program that serves until it is disposed; returns once it has written <paramref name="readyLine"/>.</summary>
    public static PeerProcess Start(string program, IEnumerable<string> arguments, string readyLine)
    {
        var peer = Launch(program, arguments, readyLine);
        if (!peer._ready.Wait(Patience) || peer._process.HasExited)
        {
            var output = peer.Output;
            peer.Dispose();
            Assert.Fail($"{program} did not get ready: {output}");
        }

        return peer;
    }

    /// <summary>Runs a program to its end.</summary>
    public static (int ExitCode, string Output) Run(string program, IEnumerable<string> arguments)
    {
        using var peer = Launch(program, arguments, null);
        peer._process.StandardInput.Close();
        if (!peer._process.WaitForExit(Patience))
        {
            Assert.Fail($"{program} does not end: {peer.Output}");
        }

        // Without a bound: only this overload also waits until the output was read to its end.
        peer._process.WaitForExit();
        return (peer._process.ExitCode, peer.Output);
    }

    /// <summary>Writes a line to its standard input.</summary>
    public void Say(string line)
    {
        _process.StandardInput.WriteLine(line);
        _process.StandardInput.Flush();
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        if (!_process.HasExited)
        {
            _process.Kill();
            _process.WaitForExit(Patience);
        }

        _process.Dispose();
        _ready.Dispose();
    }

    private static PeerProcess Launch(string program, IEnumerable<string> arguments, string? readyLine)
    {
        var start = new ProcessStartInfo(program, arguments)
        {
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        var peer = new PeerProcess(new Process { StartInfo = start }, readyLine);
        peer._process.OutputDataReceived += (_, line) => peer.Took(line.Data);
        peer._process.ErrorDataReceived += (_, line) => peer.Took(line.Data);
        peer._process.Start();
        peer._process.BeginOutputReadLine();
        peer._process.BeginErrorReadLine();
        return peer;
    }

    private void Took(string? line)
    {
        if (line is null)
        {
            return;
        }

        lock (_output)
        {
            _output.AppendLine(line);
        }

        if (line == _readyLine)
        {
            _ready.Set();
        }
    }
}
