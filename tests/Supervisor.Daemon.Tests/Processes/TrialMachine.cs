using System.Text.Json;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>The demo machine on real pseudo-terminals: <c>simulate</c> and <c>serve</c> as processes, verbs as clients.</summary>
internal sealed class TrialMachine : IAsyncDisposable
{
    private static readonly TimeSpan Look = TimeSpan.FromMilliseconds(50);
    private static readonly TimeSpan Press = TimeSpan.FromMilliseconds(300);

    private readonly string _folder = Directory.CreateTempSubdirectory("trial-").FullName;
    private readonly Dictionary<string, string> _environment = [];
    private IReadOnlyList<string> _wrap = [];
    private Daemon? _bench;
    private Daemon? _serve;

    private TrialMachine()
    {
        _environment["AXIS_SUPERVISOR_SERVER"] = Socket;
    }

    public string Socket => Path.Combine(_folder, "api.sock");

    /// <summary>Where the daemon keeps its history and what it remembers.</summary>
    public string StateFolder => Path.Combine(_folder, "state");

    public string MachineFile => Path.Combine(_folder, "machine.json");

    /// <summary>What the bench's drives told in each cycle.</summary>
    public string BenchLog => Path.Combine(_folder, "bench.csv");

    public IReadOnlyDictionary<string, string> Variables => _environment;

    public Daemon Serve => _serve!;

    /// <summary>Starts the bench and a daemon, and waits until every drive answers.</summary>
    /// <param name="edit">Changes the machine file; null: as it is.</param>
    /// <param name="variables">Of the environment of the daemon; null: none besides its own.</param>
    /// <param name="editDrive">Changes the drives' definition; null: as it is.</param>
    /// <param name="wrap">Goes before the daemon's own command line, which it must begin in its own process; null: nothing.</param>
    public static async Task<TrialMachine> StartAsync(
        Func<string, string>? edit = null, IReadOnlyDictionary<string, string>? variables = null, Func<string, string>? editDrive = null, IReadOnlyList<string>? wrap = null)
    {
        var trial = new TrialMachine();
        foreach (var (name, value) in variables ?? new Dictionary<string, string>())
        {
            trial._environment[name] = value;
        }

        try
        {
            foreach (var file in Directory.EnumerateFiles(Path.Combine(AppContext.BaseDirectory, "demo")))
            {
                File.Copy(file, Path.Combine(trial._folder, Path.GetFileName(file)));
            }

            await EditAsync(trial.MachineFile, Patient, null);
            await EditAsync(trial.MachineFile, edit, "machine file");
            await EditAsync(Path.Combine(trial._folder, "reference.drive.json"), editDrive, "drive definition");
            trial._wrap = wrap ?? [];
            trial._bench = Daemon.Start(trial._environment, "simulate", trial.MachineFile, "--link-dir", trial.Link(""), "--log", trial.BenchLog);
            await trial.UntilAsync("device nodes", () => Task.FromResult(Path.Exists(trial.Link("line-a")) && Path.Exists(trial.Link("line-b"))));
            trial.StartServe();
            await trial.SeeAsync("every drive online", status => Axes(status).All(axis => axis.GetProperty("online").GetBoolean()));
            return trial;
        }
        catch
        {
            await trial.DisposeAsync();
            throw;
        }
    }

    /// <summary>Starts one that is reset, homed and enabled.</summary>
    public static async Task<TrialMachine> StartReadyAsync(Func<string, string>? edit = null, IReadOnlyList<string>? wrap = null)
    {
        var trial = await StartAsync(edit, wrap: wrap);
        try
        {
            await trial.UntilAsync("every axis homed and enabled", trial.TryMakeReadyAsync);
            return trial;
        }
        catch
        {
            await trial.DisposeAsync();
            throw;
        }
    }

    /// <summary>One attempt of a person to start the machine: where this computer stalled so long that an axis faulted or the button was not seen, another follows.</summary>
    private async Task<bool> TryMakeReadyAsync()
    {
        if (await StatusAsync() is not { } status || !status.GetProperty("motionPermitted").GetBoolean())
        {
            await PressResetAsync();
            return false;
        }

        foreach (var verb in (string[])["home", "enable"])
        {
            if (await RunAsync(verb) is { ExitCode: not 0 })
            {
                await RunAsync("reset");
                return false;
            }
        }

        return true;
    }

    public string Link(string port) => Path.Combine(_folder, "links", port);

    public void StartServe() => _serve = Daemon.StartWrapped(
        _environment, _wrap, "serve", "--config", MachineFile, "--device", $"line-a={Link("line-a")}", "--device", $"line-b={Link("line-b")}",
        "--socket", Socket, "--state-dir", StateFolder);

    /// <summary>Ends the daemon without any warning to it.</summary>
    public async Task KillServeAsync()
    {
        _serve!.Signal(Signals.Kill);
        await _serve.EndAsync();
    }

    public Task<Said> RunAsync(params string[] arguments) => Daemon.RunAsync(_environment, arguments);

    public Daemon Start(params string[] arguments) => Daemon.Start(_environment, arguments);

    public void Bench(string line) => _bench!.Write(line);

    public async Task PressResetAsync()
    {
        Bench("input tray.input3 1");
        await Task.Delay(Press);
        Bench("input tray.input3 0");
    }

    /// <summary>The status as programs read it.</summary>
    public async Task<JsonElement?> StatusAsync()
    {
        var said = await RunAsync("status", "--json");
        return said.ExitCode == 0 ? JsonDocument.Parse(said.Output).RootElement : null;
    }

    public async Task<JsonElement> AxisAsync(string name) => Axis((await StatusAsync())!.Value, name);

    public static JsonElement Axis(JsonElement status, string name) => Axes(status).First(axis => axis.GetProperty("name").GetString() == name);

    /// <summary>Asks again until the machine looks like that.</summary>
    public async Task<JsonElement> SeeAsync(string what, Func<JsonElement, bool> condition)
    {
        JsonElement? seen = null;
        await UntilAsync(what, async () => (seen = await StatusAsync()) is { } status && condition(status));
        return seen!.Value;
    }

    public async Task UntilAsync(string what, Func<Task<bool>> condition)
    {
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        limit.CancelAfter(Daemon.Patience);
        try
        {
            while (!await condition())
            {
                await Task.Delay(Look, limit.Token);
            }
        }
        catch (OperationCanceledException)
        {
            Assert.Fail($"did not see {what}; the daemon said:\n{_serve?.Error}\nthe bench said:\n{_bench?.Error}");
        }
    }

    public async ValueTask DisposeAsync()
    {
        foreach (var process in (Daemon?[])[_serve, _bench])
        {
            if (process is not null)
            {
                await process.DisposeAsync();
            }
        }

        Directory.Delete(_folder, recursive: true);
    }

    private static async Task EditAsync(string file, Func<string, string>? edit, string? what)
    {
        if (edit is not null)
        {
            var text = await File.ReadAllTextAsync(file);
            var edited = edit(text);
            Assert.True(what is null || edited != text, $"the edit of the {what} found nothing to change");
            await File.WriteAllTextAsync(file, edited);
        }
    }

    /// <summary>
    /// Longer time-outs, and no fault by late answers: a machine that builds other things beside the tests stalls more than a board may. What is shown
    /// here is order, not speed.
    /// </summary>
    private static string Patient(string machine) => machine
        .Replace("\"retries\": 2 }", "\"retries\": 2, \"errorRate\": { \"warningPercent\": 99, \"faultPercent\": 100 } }", StringComparison.Ordinal)
        .Replace("\"communicationTimeoutMs\": 500", "\"communicationTimeoutMs\": 2500", StringComparison.Ordinal)
        .Replace("\"staleMs\": 500", "\"staleMs\": 2500", StringComparison.Ordinal);

    private static JsonElement.ArrayEnumerator Axes(JsonElement status) => status.GetProperty("axes").EnumerateArray();
}
