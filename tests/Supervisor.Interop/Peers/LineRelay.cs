using System.Runtime.Versioning;
using Supervisor.Bus;
using Supervisor.Simulation.Bench;

namespace Supervisor.Interop.Peers;

/// <summary>Two device nodes joined like the ends of a line: what one program writes to its node, the other reads from its own.</summary>
[SupportedOSPlatform("linux")]
internal sealed class LineRelay : IDisposable
{
    private readonly PseudoTerminal _near = PseudoTerminal.Open();
    private readonly PseudoTerminal _far = PseudoTerminal.Open();
    private readonly LinuxMonotonicClock _clock = new();
    private readonly Thread _thread;
    private volatile bool _stop;

    public LineRelay()
    {
        _thread = new Thread(Copy) { IsBackground = true, Name = "line relay" };
        _thread.Start();
    }

    /// <summary>Device node of the master.</summary>
    public string MasterDevice => _near.Device;

    /// <summary>Device node of the slave.</summary>
    public string SlaveDevice => _far.Device;

    /// <summary>Ends the line: both nodes hang up.</summary>
    public void Dispose()
    {
        _stop = true;
        _thread.Join();
        _near.Dispose();
        _far.Dispose();
    }

    private void Copy()
    {
        FavouredProcess.RaiseThisThread();
        var buffer = new byte[512];
        while (!_stop)
        {
            var near = Pass(_near, _far, buffer);
            var far = Pass(_far, _near, buffer);
            if (near == TerminalEvent.NobodyThere || far == TerminalEvent.NobodyThere)
            {
                // A node that nobody has open wakes every wait at once.
                _clock.WaitUntil(_clock.Now + TimeSpan.FromMilliseconds(1));
            }
        }
    }

    private TerminalEvent Pass(PseudoTerminal from, PseudoTerminal to, byte[] buffer)
    {
        var seen = from.Wait(1);
        if (seen != TerminalEvent.Readable)
        {
            return seen;
        }

        var rest = buffer.AsSpan(0, from.Read(buffer));
        // With nobody at the other end the bytes are lost, as on a wire.
        for (var tries = 0; !rest.IsEmpty && tries < 100 && !_stop; tries++)
        {
            rest = rest[to.Write(rest)..];
        }

        return seen;
    }
}
