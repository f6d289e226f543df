using System.Runtime.Versioning;
using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Noise;

/// <summary>The same slaves over the real link: none of them keeps the master from ending or from hearing the good one that follows.</summary>
[SupportedOSPlatform("linux")]
public sealed class HostileSlaveOverAPseudoTerminalTests
{
    private const byte Unit = 5;
    private static readonly TimeSpan Timeout = TimeSpan.FromMilliseconds(100);

    [Theory]
    [InlineData(Manner.Endless)]
    [InlineData(Manner.OneBehind)]
    [InlineData(Manner.Dribbling)]
    [InlineData(Manner.OtherUnit)]
    [InlineData(Manner.EchoOnly)]
    [InlineData(Manner.EchoAndAnswer)]
    public void Run_EachManner_EndsAndHearsTheGoodSlaveThatFollows(Manner manner)
    {
        using var terminal = PseudoTerminal.Open();
        using var link = LinuxSerialLink.Open(terminal.Device, Lines.Usual).Link!;
        var clock = new LinuxMonotonicClock();
        var map = new RegisterArray(0, 100);
        var slave = new RtuSlave();
        slave.Serve(Unit, map);
        var hostile = new HostileSlave(slave, new Random(51)) { Manner = manner };
        var driver = new RtuMasterDriver(new RtuMaster(Lines.Usual), link, clock);
        var transaction = new Transaction();
        using var serving = new HostileServing(hostile, terminal.Far, clock, Timeout);

        for (ushort i = 1; i <= 6; i++)
        {
            transaction.Read(Unit, FunctionCode.ReadHoldingRegisters, i, i);
            transaction.ReplyTimeout = Timeout;
            // Only one that begins with the answer is heard; a computer that stalls may bring all that dribbled at once.
            Assert.True(driver.Run(transaction) != TransactionResult.Reply || manner is Manner.Endless or Manner.Dribbling);
        }

        serving.BecomeGood();
        for (var tries = 0; ; tries++)
        {
            map[7] = (ushort)(4700 + tries);
            transaction.Read(Unit, FunctionCode.ReadHoldingRegisters, 7, 9);
            transaction.ReplyTimeout = Timeout;
            if (driver.Run(transaction) == TransactionResult.Reply)
            {
                Assert.Equal(4700 + tries, transaction.ReplyRegister(0));
                return;
            }

            // A computer that stalls may cost some; a master that hangs costs all.
            Assert.True(tries < 20, $"Still {transaction.Result} of a good slave.");
        }
    }

    /// <summary>Plays the parts of each answer in their time, on a thread of its own.</summary>
    private sealed class HostileServing : IDisposable
    {
        private readonly HostileSlave _slave;
        private readonly LinuxSerialLink _far;
        private readonly LinuxMonotonicClock _clock;
        private readonly TimeSpan _timeout;
        private readonly Thread _thread;
        private volatile bool _isGood;
        private volatile bool _stop;

        public HostileServing(HostileSlave slave, LinuxSerialLink far, LinuxMonotonicClock clock, TimeSpan timeout)
        {
            (_slave, _far, _clock, _timeout) = (slave, far, clock, timeout);
            _thread = new Thread(Serve) { IsBackground = true, Name = "hostile slave" };
            _thread.Start();
        }

        public void BecomeGood() => _isGood = true;

        public void Dispose()
        {
            _stop = true;
            _thread.Join();
        }

        private void Serve()
        {
            var assembler = new RequestAssembler(TimeSpan.FromMilliseconds(20));
            var input = new byte[256];
            var due = new PriorityQueue<byte[], TimeSpan>();
            var wasGood = false;
            while (!_stop)
            {
                if (_isGood && !wasGood)
                {
                    wasGood = _slave.IsGood = true;
                    due.Clear();
                }

                var wake = _clock.Now + TimeSpan.FromMilliseconds(5);
                wake = due.TryPeek(out _, out var next) && next < wake ? next : wake;
                _far.Read(input, wake, out var count);
                assembler.Add(input.AsSpan(0, count), _clock.Now);
                while (assembler.TryTake(_clock.Now, out var frame))
                {
                    foreach (var (after, bytes) in _slave.Answer(frame.ToArray(), _timeout))
                    {
                        due.Enqueue(bytes, _clock.Now + after);
                    }
                }

                while (due.TryPeek(out var bytes, out var at) && at <= _clock.Now)
                {
                    due.Dequeue();
                    _far.Write(bytes, _clock.Now + TimeSpan.FromSeconds(1));
                }
            }
        }
    }
}
