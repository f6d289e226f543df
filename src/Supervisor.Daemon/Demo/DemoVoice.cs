using System.Globalization;
using Spectre.Console;
using Spectre.Console.Rendering;
using Supervisor.Api.V1;
using Supervisor.Daemon.Verbs;

namespace Supervisor.Daemon.Demo;

/// <summary>How the demo tells what happens.</summary>
internal abstract class DemoVoice
{
    /// <summary>One thing that happened.</summary>
    public abstract void Say(string text);

    /// <summary>The machine, as it looks now.</summary>
    public abstract void Show(MachineStatus status);

    /// <summary>Runs the demo and draws until it is over.</summary>
    public abstract Task<int> RunAsync(Func<Task<int>> demo);

    protected static string Stamp(string text) => $"{DateTime.Now.ToString("HH:mm:ss.fff", CultureInfo.InvariantCulture)}  {text}";
}

/// <summary>A time-stamped line for each thing that happened.</summary>
internal sealed class PlainVoice(TextWriter to) : DemoVoice
{
    public override void Say(string text)
    {
        lock (to)
        {
            to.WriteLine(Stamp(text));
        }
    }

    public override void Show(MachineStatus status)
    {
    }

    public override Task<int> RunAsync(Func<Task<int>> demo) => demo();
}

/// <summary>A table of the machine with the latest lines under it, drawn over itself.</summary>
internal sealed class LiveVoice : DemoVoice
{
    private const int Kept = 12;
    private static readonly TimeSpan Interval = TimeSpan.FromMilliseconds(100);

    private readonly Lock _gate = new();
    private readonly Queue<string> _lines = new();
    private MachineStatus? _status;

    public override void Say(string text)
    {
        lock (_gate)
        {
            _lines.Enqueue(Stamp(text));
            if (_lines.Count > Kept)
            {
                _lines.Dequeue();
            }
        }
    }

    public override void Show(MachineStatus status)
    {
        lock (_gate)
        {
            _status = status;
        }
    }

    public override async Task<int> RunAsync(Func<Task<int>> demo)
    {
        var code = 0;
        await AnsiConsole.Live(Compose()).StartAsync(async context =>
        {
            var running = demo();
            while (await Task.WhenAny(running, Task.Delay(Interval)) != running)
            {
                Draw(context);
            }

            Draw(context);
            code = await running;
        });
        return code;
    }

    private void Draw(LiveDisplayContext context)
    {
        context.UpdateTarget(Compose());
        context.Refresh();
    }

    private Rows Compose()
    {
        lock (_gate)
        {
            IRenderable machine = _status is null ? StatusView.Line("starting the simulated machine and its supervisor") : StatusView.Compose(_status);
            return new Rows([machine, StatusView.Line(""), .. _lines.Select(StatusView.Line)]);
        }
    }
}
