using System.Collections.Concurrent;
using System.Runtime.Versioning;
using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Rtu;

/// <summary>The same over the real link; the far side answers from a thread of its own.</summary>
[SupportedOSPlatform("linux")]
public sealed class UnwantedReplyOverAPseudoTerminalTests : UnwantedReplyTests, IDisposable
{
    private readonly LinuxMonotonicClock _clock = new();
    private readonly PseudoTerminal _line = PseudoTerminal.Open();
    private readonly ILink _link;
    private readonly RtuMasterDriver _driver;
    private readonly Thread _slave;
    private readonly ConcurrentQueue<Part[]> _answers = new();
    private volatile bool _stop;

    public UnwantedReplyOverAPseudoTerminalTests()
    {
        _link = LinuxSerialLink.Open(_line.Device, Lines.Usual).Link!;
        _driver = new RtuMasterDriver(Master, _link, _clock);
        _slave = new Thread(Answer) { IsBackground = true, Name = "scripted slave" };
        _slave.Start();
    }

    /// <summary>Long, so that a stalled test machine, or a worker of its kernel that does not get its turn, does not turn one case into another.</summary>
    private protected override TimeSpan Unit => TimeSpan.FromMilliseconds(400);

    public void Dispose()
    {
        _stop = true;
        _slave.Join();
        _link.Dispose();
        _line.Dispose();
    }

    private protected override void Script(params Part[][] answers)
    {
        foreach (var answer in answers)
        {
            _answers.Enqueue(answer);
        }
    }

    private protected override void Inject(byte[] bytes)
    {
        _line.Far.Write(bytes, _clock.Now + TimeSpan.FromSeconds(10));
        // The kernel hands them over in its own time: they lie about once the first read is allowed to see them.
        _clock.WaitUntil(_clock.Now + (Unit / 5));
    }

    private protected override void WaitUntil(TimeSpan time) => _clock.WaitUntil(time);

    private protected override TransactionResult Run(Transaction transaction) => _driver.Run(transaction);

    /// <summary>Takes whole requests off the line and plays each one's parts, though another request may come meanwhile.</summary>
    private void Answer()
    {
        var assembler = new RequestAssembler(TimeSpan.FromMilliseconds(50));
        var input = new byte[256];
        var due = new PriorityQueue<byte[], TimeSpan>();
        while (!_stop)
        {
            var wake = _clock.Now + TimeSpan.FromMilliseconds(10);
            if (due.TryPeek(out _, out var next) && next < wake)
            {
                wake = next;
            }

            _line.Far.Read(input, wake, out var count);
            assembler.Add(input.AsSpan(0, count), _clock.Now);
            while (assembler.TryTake(_clock.Now, out _) && _answers.TryDequeue(out var parts))
            {
                foreach (var part in parts)
                {
                    due.Enqueue(part.Bytes, _clock.Now + part.After);
                }
            }

            while (due.TryPeek(out var bytes, out var at) && at <= _clock.Now)
            {
                due.Dequeue();
                _line.Far.Write(bytes, _clock.Now + TimeSpan.FromSeconds(1));
            }
        }
    }
}
