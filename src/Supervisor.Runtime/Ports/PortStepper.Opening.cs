namespace Supervisor.Runtime.Ports;

/// <content>The device comes and goes. Opening it takes its time: it is asked for once, and the stepper goes on until it is told what came of it.</content>
public sealed partial class PortStepper
{
    private static readonly TimeSpan FirstReopen = TimeSpan.FromMilliseconds(100);
    private static readonly TimeSpan SlowestReopen = TimeSpan.FromSeconds(1);
    private bool _open;
    private bool _opening;
    private TimeSpan _reopenAt;
    private TimeSpan _reopenAfter = FirstReopen;

    /// <summary>The device was opened, or not. Any number of steps may lie between asking for it and this.</summary>
    public void Opened(bool success, TimeSpan now)
    {
        _opening = false;
        if (!success)
        {
            ReopenLater(now);
            return;
        }

        _open = true;
        _master.NewLink();
        _cycling = false;
        _cycleAt = now - _port.Cycle;
        foreach (var axis in _axes)
        {
            axis.Reopened(now);
        }

        _modules.Reopened(now);
    }

    private PortStep NextOpening(TimeSpan now)
    {
        if (_opening || now < _reopenAt)
        {
            return Wait(_opening ? TimeSpan.MaxValue : _reopenAt, now);
        }

        _opening = true;
        return new PortStep(PortStepKind.Open, now, null);
    }

    /// <summary>Ever later, until something answers: a device that opens and is gone again at once is no better than one that does not open.</summary>
    private void ReopenLater(TimeSpan now)
    {
        _reopenAt = now + _reopenAfter;
        _reopenAfter = _reopenAfter + _reopenAfter < SlowestReopen ? _reopenAfter + _reopenAfter : SlowestReopen;
    }

    private void LinkGone(TimeSpan now)
    {
        _open = false;
        ForgetOwnRequests();
        _snapshot.Errors++;
        ReopenLater(now);
        foreach (var axis in _axes)
        {
            axis.LoseLink(now);
        }

        _modules.LoseLink();
    }
}
