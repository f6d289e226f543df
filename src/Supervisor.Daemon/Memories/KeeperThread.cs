using Supervisor.Bus;

namespace Supervisor.Daemon.Memories;

/// <summary>Writes a file of the state folder whenever what it keeps has changed: on a thread of its own, as a slow disk must hold nobody up.</summary>
internal sealed class KeeperThread
{
    private static readonly TimeSpan Interval = TimeSpan.FromMilliseconds(50);
    private static readonly TimeSpan AfterFailure = TimeSpan.FromSeconds(5);

    private readonly Func<bool> _isChanged;
    private readonly Action _write;
    private readonly Action<Exception> _failed;
    private readonly IMonotonicClock _clock;
    private readonly Thread _thread;
    private bool _isFailing;
    private volatile bool _isEnding;

    /// <param name="name">Name of the thread.</param>
    /// <param name="isChanged">Looks whether something changed since it last said so.</param>
    /// <param name="write">Writes the file; a write that failed is tried again.</param>
    /// <param name="failed">Told the first of several failures.</param>
    /// <param name="clock">For the pauses between looks.</param>
    public KeeperThread(string name, Func<bool> isChanged, Action write, Action<Exception> failed, IMonotonicClock clock)
    {
        (_isChanged, _write, _failed, _clock) = (isChanged, write, failed, clock);
        _thread = new Thread(Run) { Name = name, IsBackground = true };
    }

    /// <summary>Starts the thread. Once.</summary>
    public void Start() => _thread.Start();

    /// <summary>Writes what is left and ends.</summary>
    /// <returns>False when it had not ended within <paramref name="patience"/>.</returns>
    public bool Stop(TimeSpan patience)
    {
        _isEnding = true;
        return !_thread.IsAlive || _thread.Join(patience);
    }

    /// <summary>Writes the file if something changed. True when nothing is left to write.</summary>
    public bool Step()
    {
        if (!_isChanged() && !_isFailing)
        {
            return true;
        }

        try
        {
            _write();
            _isFailing = false;
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException)
        {
            if (!_isFailing)
            {
                _failed(exception);
            }

            _isFailing = true;
        }

        return !_isFailing;
    }

    private void Run()
    {
        while (!_isEnding)
        {
            var pause = Step() ? Interval : AfterFailure;
            for (var until = _clock.Now + pause; _clock.Now < until && !_isEnding;)
            {
                _clock.WaitUntil(_clock.Now + Interval);
            }
        }

        Step();
    }
}
