using Supervisor.Machine.Watching;
using Supervisor.Records.Stops;

namespace Supervisor.Machine.Timeouts;

/// <summary>Takes in what drives did that were left unasked on purpose, tells the journal who asked, and keeps the last of each axis for the answer.</summary>
internal sealed class TimeoutDesk(MachineView view, IJournal journal)
{
    private readonly MeasuredTimeout[] _last = new MeasuredTimeout[view.Axes.Length];

    /// <summary>Name of the holder of a command; empty when it is not known.</summary>
    public Func<ulong, string>? HolderOf { get; set; }

    public void Drain()
    {
        for (var port = 0; port < view.Board.Ports.Count; port++)
        {
            while (view.Board.Ports[port].Timeouts.TryRead(out var measured))
            {
                _last[measured.Axis] = measured;
                journal.Timeout(measured, HolderOf?.Invoke(measured.CommandId) ?? "");
            }
        }
    }

    /// <summary>What a command's proof came to, for a person; null when it came to none. A port tells it before it reports the command's end.</summary>
    public string? TextOf(int axis, ulong command)
    {
        Drain();
        return _last[axis] is { Verdict: not TimeoutVerdict.None } last && last.CommandId == command ? TimeoutTexts.Of(view.Axes[axis], last) : null;
    }
}
