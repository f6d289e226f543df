using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;

namespace Supervisor.Bus.Tests.Support;

/// <summary>Runs a slave on a thread of its own until it is disposed.</summary>
internal sealed class Serving : IDisposable
{
    private readonly Thread _thread;
    private volatile bool _stop;

    public Serving(RtuSlaveDriver slave, IMonotonicClock clock)
    {
        _thread = new Thread(() =>
        {
            while (!_stop && slave.Step(clock.Now + TimeSpan.FromMilliseconds(20)) != LinkStatus.Gone)
            {
            }
        })
        { IsBackground = true, Name = "slave" };
        _thread.Start();
    }

    public void Dispose()
    {
        _stop = true;
        _thread.Join();
    }
}
