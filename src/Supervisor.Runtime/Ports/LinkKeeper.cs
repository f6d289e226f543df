using Supervisor.Bus.Links;

namespace Supervisor.Runtime.Ports;

/// <summary>
/// Has a port's device opened and closed by threads of its own. Opening, setting up and closing may hang for ever in a driver whose adapter was
/// unplugged at the wrong moment: then that thread is left behind, and another one tries, as the device may be back under the same name with
/// another node behind it. All calls are made by the port's thread; none waits.
/// </summary>
internal sealed class LinkKeeper
{
    /// <summary>Threads a port has at most for this, those that hang among them.</summary>
    public const int MostThreads = 4;

    /// <summary>An opening that takes longer counts as failed. Common practice without a source: adapters open within a tenth of a second.</summary>
    public static readonly TimeSpan Patience = TimeSpan.FromSeconds(5);

    private readonly string _name;
    private readonly Func<ILink?> _open;
    private readonly Action<int>? _hung;
    private readonly LinkWorker?[] _left = new LinkWorker?[MostThreads - 1];
    private LinkWorker _worker;
    private bool _isAsked;
    private TimeSpan _askedAt;

    /// <param name="name">Name of the port; the threads carry it.</param>
    /// <param name="open">Opens the device; null when it can't be opened now. Called on a thread of the keeper.</param>
    /// <param name="hung">Told on the port's thread when an opening did not come back in time, with the number of threads that hang.</param>
    public LinkKeeper(string name, Func<ILink?> open, Action<int>? hung)
    {
        (_name, _open, _hung) = (name, open, hung);
        _worker = new LinkWorker(name, open);
    }

    /// <summary>Starts its first thread.</summary>
    public void Start() => _worker.Start();

    /// <summary>Asks for an opening.</summary>
    public void Ask(TimeSpan now)
    {
        (_isAsked, _askedAt) = (true, now);
        _worker.Ask();
    }

    /// <summary>Takes what came of the opening.</summary>
    /// <param name="now">Monotonic time.</param>
    /// <param name="link">The open link; null when it could not be opened, or did not come back in time.</param>
    /// <returns>False when none was asked for, or it is still under way.</returns>
    public bool TryTake(TimeSpan now, out ILink? link)
    {
        link = null;
        if (!_isAsked || (!_worker.TryTake(out link) && !(now - _askedAt >= Patience && LeaveBehind(now))))
        {
            return false;
        }

        _isAsked = false;
        return true;
    }

    /// <summary>Has a link closed.</summary>
    public void Close(ILink link) => _worker.Close(link);

    /// <summary>Ends its threads, once what they are at is over.</summary>
    public void End() => _worker.End();

    /// <summary>Waits for the thread that is not left behind.</summary>
    /// <returns>False when it did not end in time.</returns>
    public bool Join(TimeSpan patience) => _worker.Join(patience);

    /// <summary>Leaves the thread that hangs and makes another one, unless as many hang already as may.</summary>
    /// <returns>False when the one that hangs is still the one to wait for.</returns>
    private bool LeaveBehind(TimeSpan now)
    {
        var free = -1;
        var hanging = 1;
        for (var i = 0; i < _left.Length; i++)
        {
            if (_left[i] is { HasEnded: false })
            {
                hanging++;
            }
            else
            {
                free = i;
            }
        }

        if (free < 0 || !_worker.Abandon())
        {
            // Looked at again later, or answered at this very moment.
            _askedAt = now;
            return false;
        }

        _left[free] = _worker;
        _worker = new LinkWorker(_name, _open);
        _worker.Start();
        _hung?.Invoke(hanging);
        return true;
    }
}
