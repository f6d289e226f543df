using System.Runtime.Versioning;
using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Rtu;

/// <summary>Nothing is allocated in steady state, by neither side of the line.</summary>
public sealed class AllocationTests
{
    private const int Transactions = 10_000;
    private static readonly ushort[] Values = [1, 2, 3];
    private static readonly byte[] Ping = [1, 2, 3, 4, 5, 6, 7, 8];

    [Fact]
    public void Run_TenThousandTransactions_AllocatesNothing()
    {
        var loop = new LoopBack();
        var driver = new RtuMasterDriver(new RtuMaster(Lines.Usual), loop, loop);
        var transaction = new Transaction { ReplyTimeout = TimeSpan.FromMilliseconds(20) };
        Exchange(driver, transaction, loop, 100);

        var before = GC.GetAllocatedBytesForCurrentThread();
        var replies = Exchange(driver, transaction, loop, Transactions);
        var allocated = GC.GetAllocatedBytesForCurrentThread() - before;

        Assert.Equal(0, allocated);
        Assert.Equal(Transactions * 9 / 10, replies);
    }

    [Fact]
    [SupportedOSPlatform("linux")]
    public void LinuxSerialLink_TenThousandWritesAndReads_AllocatesNothing()
    {
        using var line = PseudoTerminal.Open();
        using var link = LinuxSerialLink.Open(line.Device, Lines.Usual).Link!;
        var clock = new LinuxMonotonicClock();
        var input = new byte[16];
        PingPong(link, line.Far, clock, input, 100);

        var before = GC.GetAllocatedBytesForCurrentThread();
        var bytes = PingPong(link, line.Far, clock, input, Transactions);
        var allocated = GC.GetAllocatedBytesForCurrentThread() - before;

        Assert.Equal(0, allocated);
        Assert.Equal(8 * Transactions, bytes);
    }

    private static int Exchange(RtuMasterDriver driver, Transaction transaction, LoopBack loop, int count)
    {
        var replies = 0;
        for (var i = 0; i < count; i++)
        {
            switch (i % 4)
            {
                case 0:
                    transaction.Read(1, 3, 0, 8);
                    break;
                case 1:
                    transaction.WriteSingle(1, 2, 7);
                    break;
                case 2:
                    transaction.WriteMultiple(1, 2, Values);
                    break;
                default:
                    transaction.ReadWrite(1, 0, 8, 2, Values);
                    break;
            }

            loop.Mute = i % 10 == 9;
            replies += driver.Run(transaction) == TransactionResult.Reply ? 1 : 0;
        }

        return replies;
    }

    [SupportedOSPlatform("linux")]
    private static int PingPong(ILink near, LinuxSerialLink far, LinuxMonotonicClock clock, byte[] input, int count)
    {
        var bytes = 0;
        for (var i = 0; i < count; i++)
        {
            near.Write(Ping, clock.Now + TimeSpan.FromSeconds(10));
            for (var have = 0; have < Ping.Length;)
            {
                if (far.Read(input, clock.Now + TimeSpan.FromSeconds(10), out var read) != LinkStatus.Ok)
                {
                    return -1;
                }

                have += read;
                bytes += read;
            }
        }

        return bytes;
    }

    /// <summary>A slave at the other end of a line without delay; when mute it takes requests and says nothing.</summary>
    private sealed class LoopBack : ILink, IMonotonicClock
    {
        private readonly RtuSlave _slave = new();
        private readonly byte[] _reply = new byte[256];
        private int _length;

        public LoopBack() => _slave.Serve(1, new RegisterArray(0, 16));

        public bool Mute { get; set; }

        public TimeSpan Now { get; private set; } = TimeSpan.FromSeconds(1);

        public void WaitUntil(TimeSpan deadline) => Now = deadline > Now ? deadline : Now;

        public LinkStatus Write(ReadOnlySpan<byte> bytes, TimeSpan deadline)
        {
            _length = Mute ? 0 : _slave.Answer(bytes, _reply);
            return LinkStatus.Ok;
        }

        public LinkStatus Read(Span<byte> into, TimeSpan deadline, out int count)
        {
            count = _length;
            if (count == 0)
            {
                WaitUntil(deadline);
                return LinkStatus.TimedOut;
            }

            _reply.AsSpan(0, count).CopyTo(into);
            _length = 0;
            return LinkStatus.Ok;
        }

        public LinkStatus DiscardInput() => LinkStatus.Ok;

        public void Dispose()
        {
        }
    }
}
