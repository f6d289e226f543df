using System.Diagnostics;
using System.Runtime.InteropServices;
using System.Text;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>What a process that has ended said.</summary>
internal sealed record Said(int ExitCode, string Output, string Error)
{
    /// <summary>For messages of failed tests.</summary>
    public override string ToString() => $"exit {ExitCode}\nstdout: {Output}\nstderr: {Error}";
}

/// <summary>The program as a process of its own, as a shell would start it.</summary>
internal sealed partial class Daemon : IAsyncDisposable
{
    /// <summary>Bound for everything that is waited for: long enough for a busy machine, and no test passes by it.</summary>
    public static readonly TimeSpan Patience = TimeSpan.FromSeconds(60);

    /// <summary>
    /// Name of the trait of tests that always run the build beside them, which is compiled as it runs: a developer's. The others run what
    /// SUPERVISOR_PROGRAM names, such as the one that is compiled ahead of time, so that both are tried.
    /// </summary>
    public const string ProgramTrait = "program";

    /// <summary>Its value.</summary>
    public const string Beside = "beside the tests";

    private readonly StringBuilder _output = new();
    private readonly StringBuilder _error = new();
    private readonly Process _process;
    private readonly Task _reading;

    private Daemon(ProcessStartInfo start)
    {
        _process = Process.Start(start)!;
        _reading = Task.WhenAll(ReadAsync(_process.StandardOutput, _output), ReadAsync(_process.StandardError, _error));
    }

    public int Id => _process.Id;

    public bool HasEnded => _process.HasExited;

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

    public string Error
    {
        get
        {
            lock (_error)
            {
                return _error.ToString();
            }
        }
    }

    /// <summary>Starts a verb.</summary>
    /// <param name="environment">Variables besides this process's own.</param>
    /// <param name="arguments">The command line.</param>
    public static Daemon Start(IReadOnlyDictionary<string, string> environment, params string[] arguments) => StartWrapped(environment, [], arguments);

    /// <summary>Starts a verb by another command, which becomes it.</summary>
    /// <param name="environment">Variables besides this process's own.</param>
    /// <param name="wrap">The other command; the path of the program and its arguments are put behind it. Empty: none.</param>
    /// <param name="arguments">The command line.</param>
    public static Daemon StartWrapped(IReadOnlyDictionary<string, string> environment, IReadOnlyList<string> wrap, params string[] arguments)
    {
        var program = ProgramOfThisTest();
        var start = new ProcessStartInfo(wrap.Count > 0 ? wrap[0] : program)
        {
            RedirectStandardInput = true, RedirectStandardOutput = true, RedirectStandardError = true, UseShellExecute = false,
        };
        foreach (var (name, value) in environment)
        {
            start.Environment[name] = value;
        }

        foreach (var argument in wrap.Count > 0 ? [.. wrap.Skip(1), program, .. arguments] : arguments)
        {
            start.ArgumentList.Add(argument);
        }

        return new Daemon(start);
    }

    /// <summary>Runs a verb to its end.</summary>
    public static async Task<Said> RunAsync(IReadOnlyDictionary<string, string> environment, params string[] arguments)
    {
        await using var daemon = Start(environment, arguments);
        return await daemon.EndAsync();
    }

    /// <summary>Writes a line to its standard input.</summary>
    public void Write(string line)
    {
        _process.StandardInput.WriteLine(line);
        _process.StandardInput.Flush();
    }

    /// <summary>Sends a signal, as kill does.</summary>
    public void Signal(int signal) => Assert.Equal(0, Kill(_process.Id, signal));

    /// <summary>Waits for its end.</summary>
    public async Task<Said> EndAsync()
    {
        await _process.WaitForExitAsync(TestContext.Current.CancellationToken).WaitAsync(Patience, TestContext.Current.CancellationToken);
        await _reading;
        return new Said(_process.ExitCode, Text(_output), Text(_error));
    }

    public async ValueTask DisposeAsync()
    {
        if (!_process.HasExited)
        {
            _process.Kill();
            await _process.WaitForExitAsync();
        }

        _process.Dispose();
    }

    private static string ProgramOfThisTest() =>
        Environment.GetEnvironmentVariable("SUPERVISOR_PROGRAM") is { Length: > 0 } given && TestContext.Current.Test?.Traits.ContainsKey(ProgramTrait) != true
            ? given : Path.Combine(AppContext.BaseDirectory, "axis-supervisor");

    private static async Task ReadAsync(StreamReader from, StringBuilder into)
    {
        while (await from.ReadLineAsync() is { } line)
        {
            lock (into)
            {
                into.Append(line).Append('\n');
            }
        }
    }

    private static string Text(StringBuilder text)
    {
        lock (text)
        {
            return text.ToString();
        }
    }

    [LibraryImport("libc", EntryPoint = "kill")]
    private static partial int Kill(int process, int signal);
}

/// <summary>Signal numbers of Linux.</summary>
internal static class Signals
{
    public const int Interrupt = 2;
    public const int Kill = 9;
    public const int Terminate = 15;

    /// <summary>SIGCONT: what was suspended goes on.</summary>
    public const int Continue = 18;

    /// <summary>SIGSTOP: the process hangs until it is killed, or continued.</summary>
    public const int Suspend = 19;
}
