using Supervisor.Bus.Links;

namespace Supervisor.Runtime.Ports;

/// <summary>
/// A thread that opens and closes one port's device, one thing at a time. It belongs to the port's thread, which never waits for it: what is asked
/// and what came of it lie in a cell between the two.
/// </summary>
#pragma warning disable CA1001 // The event lives as long as both threads may set it, and holds nothing of the system.
internal sealed class LinkWorker
#pragma warning restore CA1001
{
    private const int Idle = 0;
    private const int Asked = 1;
    private const int Answered = 2;
    private const int Abandoned = 3;

    private readonly Func<ILink?> _open;
    private readonly AutoResetEvent _wake = new(false);
    private readonly Thread _thread;
    private ILink? _toClose;
    private ILink? _opened;
    private Exception? _broke;
    private int _state;
    private volatile bool _ends;

    /// <param name="name">Name of the port; the thread carries it.</param>
    /// <param name="open">Opens the device; null when it can't be opened now.</param>
    public LinkWorker(string name, Func<ILink?> open)
    {
        _open = open;
        _thread = new Thread(Run) { Name = ThreadName.Of("open", name), IsBackground = true };
    }

    /// <summary>It has ended, or never began.</summary>
    public bool HasEnded => !_thread.IsAlive;

    public void Start() => _thread.Start();

    /// <summary>Asks for an opening; the answer of the one before was taken.</summary>
    public void Ask()
    {
        Volatile.Write(ref _state, Asked);
        _wake.Set();
    }

    /// <summary>Hands over a link to be closed before anything else is opened.</summary>
    public void Close(ILink link)
    {
        Volatile.Write(ref _toClose, link);
        _wake.Set();
    }

    /// <summary>Takes the answer.</summary>
    /// <param name="link">The open link; null when it could not be opened.</param>
    /// <returns>False while there is none.</returns>
    /// <exception cref="InvalidOperationException">A bug broke the opening or the closing before it.</exception>
    public bool TryTake(out ILink? link)
    {
        link = null;
        if (Volatile.Read(ref _state) != Answered)
        {
            return false;
        }

        link = Interlocked.Exchange(ref _opened, null);
        Volatile.Write(ref _state, Idle);
        return _broke is null ? true : throw new InvalidOperationException("A port's device was opened or closed with an error of the program.", _broke);
    }

    /// <summary>Nobody waits for its answer any more: whatever it opens later it closes again, and ends.</summary>
    /// <returns>False when it has answered meanwhile.</returns>
    public bool Abandon() => Interlocked.CompareExchange(ref _state, Abandoned, Asked) == Asked;

    /// <summary>Asks it to end once what it is at is over. What it opened and nobody took is closed.</summary>
    public void End()
    {
        _ends = true;
        _wake.Set();
    }

    /// <summary>Waits for the end of its thread.</summary>
    /// <returns>False when it did not end in time.</returns>
    public bool Join(TimeSpan patience) => _thread.Join(patience);

    private void Run()
    {
        while (true)
        {
            CloseOne(ref _toClose);
            var state = Volatile.Read(ref _state);
            if (_ends || state == Abandoned)
            {
                break;
            }

            if (state == Asked)
            {
                Answer();
            }
            else
            {
                _wake.WaitOne();
            }
        }

        CloseOne(ref _toClose);
        CloseOne(ref _opened);
    }

    private void Answer()
    {
#pragma warning disable CA1031 // Handed over: the port's thread has the one catch that stops the axes.
        try
        {
            Volatile.Write(ref _opened, _open());
        }
        catch (Exception exception)
        {
            _broke = exception;
        }
#pragma warning restore CA1031

        // Where it fails nobody waits any more.
        _ = Interlocked.CompareExchange(ref _state, Answered, Asked);
    }

    private void CloseOne(ref ILink? link)
    {
#pragma warning disable CA1031 // As above; told with the next answer.
        try
        {
            Interlocked.Exchange(ref link, null)?.Dispose();
        }
        catch (Exception exception)
        {
            _broke = exception;
        }
#pragma warning restore CA1031
    }
}
