using Supervisor.History.Storage;

namespace Supervisor.History.Writing;

/// <summary>
/// Looks through the file for damage soon after the start and once a day, on a thread of its own that lives as long as a look. Whoever asks whether it is
/// time does so about once a minute.
/// </summary>
/// <param name="options">Path, clock and pause.</param>
/// <param name="damaged">Called on the thread of the check when a file is damaged, with the number of the file that was looked through.</param>
internal sealed class CheckThread(HistoryOptions options, Action<int> damaged)
{
    private static readonly TimeSpan Interval = TimeSpan.FromDays(1);
    private static readonly TimeSpan Rest = TimeSpan.FromMilliseconds(5);
    private static readonly TimeSpan EndPatience = TimeSpan.FromSeconds(1);

    private readonly Lock _gate = new();
    private Thread? _thread;
    private TimeSpan? _last;
    private volatile bool _isEnding;

    /// <summary>Begins a look if it is time for one; returns at once.</summary>
    /// <param name="now">Monotonic time.</param>
    /// <param name="file">Number of the file, which changes when one is set aside.</param>
    public void BeginIfDue(TimeSpan now, int file)
    {
        lock (_gate)
        {
            if (_isEnding || _thread is { IsAlive: true } || now - _last < Interval)
            {
                return;
            }

            _last = now;
            _thread = new Thread(() => Look(file)) { Name = "history check", IsBackground = true };
            _thread.Start();
        }
    }

    /// <summary>Ends a look that is on its way.</summary>
    public void End()
    {
        Thread? thread;
        lock (_gate)
        {
            _isEnding = true;
            thread = _thread;
        }

        thread?.Join(EndPatience);
    }

    private void Look(int file)
    {
        try
        {
            var damage = IntegrityCheck.Run(options.Path, () =>
            {
                options.Pause(Rest);
                return !_isEnding;
            });
            if (damage is { Length: > 0 } && !_isEnding)
            {
                damaged(file);
            }
        }
        catch (Exception exception) when (exception is not OutOfMemoryException)
        {
            // A look that can't be had must not end the process; the next is tomorrow.
        }
    }
}
