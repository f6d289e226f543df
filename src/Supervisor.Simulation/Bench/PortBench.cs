using System.Runtime.Versioning;
using Supervisor.Bus;
using Supervisor.Bus.Rtu;
using Supervisor.Simulation.Wires;

namespace Supervisor.Simulation.Bench;

/// <summary>One port of the bench: a thread that serves the port's drives on a pseudo-terminal and lets their time pass, plugged or not.</summary>
[SupportedOSPlatform("linux")]
internal sealed class PortBench : IDisposable
{
    private static readonly TimeSpan Tick = TimeSpan.FromMilliseconds(2);

    // Between this side and a program lies an operating system that stalls now and then; 3.5 characters would cut frames.
    private static readonly TimeSpan LongestSilence = TimeSpan.FromMilliseconds(20);

    private static readonly TimeSpan Stall = TimeSpan.FromMilliseconds(10);

    private readonly Lock _gate = new();
    private readonly SimulatedLine _line;
    private readonly IMonotonicClock _clock;
    private readonly Action<PortBench, Exception> _failed;
    private readonly Thread _thread;
    private readonly byte[] _input = new byte[Transaction.MaximumFrameBytes];
    private readonly byte[] _reply = new byte[Transaction.MaximumFrameBytes];
    private readonly TimeSpan _silence;
    private RequestAssembler _assembler;
    private PseudoTerminal? _terminal;
    private PseudoTerminal? _served;
    private TimeSpan _lineBusyUntil;
    private TimeSpan _expectedBy = TimeSpan.MaxValue;
    private volatile bool _stop;
    private volatile bool _hearsItself;

    /// <summary>Makes it, unplugged.</summary>
    /// <param name="line">The drives.</param>
    /// <param name="link">Path of the symbolic link to the device node.</param>
    /// <param name="clock">The clock the drives live by.</param>
    /// <param name="failed">Told when the thread ends by an exception.</param>
    public PortBench(SimulatedLine line, string link, IMonotonicClock clock, Action<PortBench, Exception> failed)
    {
        (_line, Link, _clock, _failed) = (line, link, clock, failed);

        // A program that repeats at its time-out must still leave a silence after a frame that was cut, or its drives would stay deaf.
        var half = line.Port.ResponseTimeout / 2;
        _silence = half < LongestSilence ? half : LongestSilence;
        _assembler = new RequestAssembler(_silence);
        _thread = new Thread(Run) { Name = "bench " + line.Port.Name, IsBackground = true };
    }

    /// <summary>Name of the port.</summary>
    public string Name => _line.Port.Name;

    /// <summary>Path of the symbolic link.</summary>
    public string Link { get; }

    /// <summary>When the request in hand was handed over; null: when it was seen.</summary>
    public Func<TimeSpan>? RequestBegunAt { get; set; }

    /// <summary>True while the device node is there.</summary>
    public bool IsPlugged
    {
        get
        {
            lock (_gate)
            {
                return _terminal is not null;
            }
        }
    }

    /// <summary>Its adapter hears what it sends: every request comes back as its last byte goes out.</summary>
    public bool HearsItself
    {
        get => _hearsItself;
        set => _hearsItself = value;
    }

    /// <summary>Plugs in and starts the thread.</summary>
    public void Start()
    {
        Plug();
        _thread.Start();
    }

    /// <summary>Makes a new device node and its link.</summary>
    public void Plug()
    {
        lock (_gate)
        {
            if (_terminal is null)
            {
                var terminal = PseudoTerminal.Open();
                try
                {
                    Symlink.Place(Link, terminal.Device);
                }
                catch
                {
                    terminal.Dispose();
                    throw;
                }

                _terminal = terminal;
            }
        }
    }

    /// <summary>Removes the link and closes this side: whoever has the device open sees it hang up. The drives go on.</summary>
    public void Unplug()
    {
        lock (_gate)
        {
            if (_terminal is { } terminal)
            {
                _terminal = null;
                terminal.Dispose();
                Symlink.Remove(Link);
            }
        }
    }

    /// <summary>Does something to a drive while the thread keeps off.</summary>
    public void Do(Action action)
    {
        lock (_gate)
        {
            _line.Advance(_clock.Now);
            action();
        }
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        _stop = true;
        if (_thread.IsAlive)
        {
            _thread.Join();
        }

        Unplug();
    }

    private void Run()
    {
        try
        {
            while (!_stop)
            {
                Catch();
                bool waited = Serve();
                _expectedBy = _clock.Now + Tick;
                if (!waited)
                {
                    _clock.WaitUntil(_expectedBy);
                }
            }
        }
#pragma warning disable CA1031 // The top of a thread: whatever it is, it is told instead of taking the process down unseen.
        catch (Exception exception)
#pragma warning restore CA1031
        {
            _failed(this, exception);
        }
    }

    /// <summary>A drive does not sleep: time in which this thread was kept from running must not look to it like a master that fell silent.</summary>
    private void Catch()
    {
        var late = _clock.Now - _expectedBy;
        if (late > Stall)
        {
            lock (_gate)
            {
                _line.ExcuseSilence(late);
            }
        }
    }

    /// <summary>One round; false when there was nothing to wait on.</summary>
    private bool Serve()
    {
        PseudoTerminal? terminal;
        lock (_gate)
        {
            _line.Advance(_clock.Now);
            terminal = _terminal;
        }

        if (!ReferenceEquals(terminal, _served))
        {
            _served = terminal;
            _assembler = new RequestAssembler(_silence);
        }

        if (terminal is null)
        {
            return false;
        }

        try
        {
            var seen = terminal.Wait((int)Tick.TotalMilliseconds);
            if (seen == TerminalEvent.NobodyThere)
            {
                // What an earlier program left half sent does not concern the next one.
                _assembler = new RequestAssembler(_silence);
                return false;
            }

            int count = seen == TerminalEvent.Readable ? terminal.Read(_input) : 0;
            _assembler.Add(_input.AsSpan(0, count), _clock.Now);
            while (_assembler.TryTake(_clock.Now, out var frame))
            {
                Transact(terminal, frame);
            }

            return count > 0 || seen == TerminalEvent.Nothing;
        }
        catch (ObjectDisposedException)
        {
            // Unplugged meanwhile.
            return false;
        }
    }

    /// <summary>A pseudo-terminal has no bit rate: the times of request, turnaround and reply are kept here, so that a transaction takes as long as on the wire.</summary>
    private void Transact(PseudoTerminal terminal, ReadOnlySpan<byte> frame)
    {
        var begin = RequestBegunAt is { } begunAt ? begunAt() : _clock.Now;
        var heard = (begin > _lineBusyUntil ? begin : _lineBusyUntil) + _line.Line.CharacterTime(frame.Length);
        _clock.WaitUntil(heard);
        if (HearsItself)
        {
            Write(terminal, frame);
        }

        int length;
        TimeSpan replyAt;
        lock (_gate)
        {
            length = _line.Answer(frame, heard, _reply, out replyAt);
        }

        _lineBusyUntil = replyAt;
        if (length == 0)
        {
            return;
        }

        _clock.WaitUntil(replyAt);
        Write(terminal, _reply.AsSpan(0, length));
    }

    private void Write(PseudoTerminal terminal, ReadOnlySpan<byte> frame)
    {
        lock (_gate)
        {
            if (ReferenceEquals(_terminal, terminal))
            {
                terminal.Write(frame);
            }
        }
    }
}
