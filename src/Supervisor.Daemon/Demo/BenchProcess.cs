using System.Diagnostics;

namespace Supervisor.Daemon.Demo;

/// <summary>The simulated machine as a process of its own: the daemon meets it only by device nodes, a person's hands by lines of text.</summary>
internal sealed class BenchProcess : IAsyncDisposable
{
    private static readonly TimeSpan StartPatience = TimeSpan.FromSeconds(30);
    private static readonly TimeSpan AnswerPatience = TimeSpan.FromSeconds(10);
    private static readonly TimeSpan EndPatience = TimeSpan.FromSeconds(3);

    private readonly Process _process;
    private readonly SemaphoreSlim _one = new(1);

    private BenchProcess(Process process) => _process = process;

    /// <summary>Starts this same program with the verb <c>simulate</c> and waits until its device nodes are there.</summary>
    public static async Task<BenchProcess> StartAsync(string machineFile, string linkFolder, CancellationToken cancellation)
    {
        var start = new ProcessStartInfo { RedirectStandardInput = true, RedirectStandardOutput = true, UseShellExecute = false };
        Self(start);
        foreach (var argument in (ReadOnlySpan<string>)["simulate", machineFile, "--link-dir", linkFolder, "--attached"])
        {
            start.ArgumentList.Add(argument);
        }

        var process = Process.Start(start) ?? throw new DemoFailedException("the simulated machine could not be started");
        var bench = new BenchProcess(process);
        try
        {
            var line = await bench.ReadAsync(StartPatience, cancellation);
            return line.StartsWith("ready", StringComparison.Ordinal) ? bench : throw new DemoFailedException($"the simulated machine did not start: {line}");
        }
        catch
        {
            await bench.DisposeAsync();
            throw;
        }
    }

    /// <summary>Gives it one line and sees that it was obeyed.</summary>
    public async Task DoAsync(string line, CancellationToken cancellation)
    {
        await _one.WaitAsync(cancellation);
        try
        {
            await _process.StandardInput.WriteLineAsync(line.AsMemory(), cancellation);
            await _process.StandardInput.FlushAsync(cancellation);
            var answer = await ReadAsync(AnswerPatience, cancellation);
            if (!answer.StartsWith("ok", StringComparison.Ordinal))
            {
                throw new DemoFailedException($"the simulated machine answered '{line}' with: {answer}");
            }
        }
        catch (IOException exception)
        {
            throw new DemoFailedException("the simulated machine has ended", exception);
        }
        finally
        {
            _one.Release();
        }
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        try
        {
            // The end of its input is its end.
            _process.StandardInput.Close();
            using var limit = new CancellationTokenSource(EndPatience);
            await _process.WaitForExitAsync(limit.Token);
        }
        catch (Exception exception) when (exception is OperationCanceledException or IOException or InvalidOperationException)
        {
            _process.Kill();
        }

        _process.Dispose();
        _one.Dispose();
    }

    /// <summary>How to start this program once more: by itself, or by the host that runs its assembly.</summary>
    private static void Self(ProcessStartInfo start)
    {
        start.FileName = Environment.ProcessPath ?? throw new DemoFailedException("the system does not tell the path of this program");
        if (Path.GetFileNameWithoutExtension(start.FileName).Equals("dotnet", StringComparison.OrdinalIgnoreCase))
        {
            start.ArgumentList.Add(Path.Combine(AppContext.BaseDirectory, "axis-supervisor.dll"));
        }
    }

    private async Task<string> ReadAsync(TimeSpan patience, CancellationToken cancellation)
    {
        try
        {
            return await _process.StandardOutput.ReadLineAsync(cancellation).AsTask().WaitAsync(patience, cancellation)
                ?? throw new DemoFailedException("the simulated machine has ended");
        }
        catch (TimeoutException exception)
        {
            throw new DemoFailedException($"the simulated machine did not answer within {patience.TotalSeconds:0} s", exception);
        }
    }
}
