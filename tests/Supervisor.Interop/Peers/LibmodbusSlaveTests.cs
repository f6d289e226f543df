using System.Runtime.Versioning;
using Supervisor.Bus;
using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;

namespace Supervisor.Interop.Peers;

/// <summary>Our master against a slave on libmodbus, register by register.</summary>
[SupportedOSPlatform("linux")]
public sealed class LibmodbusSlaveTests(DriveSlaveProgram program)
{
    private const byte Address = 7;
    private static readonly TimeSpan Timeout = TimeSpan.FromSeconds(2);
    private readonly Transaction _transaction = new();

    [Fact]
    public void Run_EachFunction_ReadsAndWritesTheSlavesRegisters()
    {
        using var bench = new Bench(program, DriveSlaveProgram.Cia402);

        _transaction.WriteMultiple(Address, 66, [0x0001, 0x86A0, 0, 5000]);
        Assert.Equal(TransactionResult.Reply, bench.Run(_transaction));
        _transaction.WriteSingle(Address, 74, 800);
        Assert.Equal(TransactionResult.Reply, bench.Run(_transaction));
        Assert.Equal([0x0001, 0x86A0, 0, 5000], bench.Read(66, 4));

        // Function 23 writes first, then reads.
        _transaction.ReadWrite(Address, 74, 1, 74, [900]);
        Assert.Equal(TransactionResult.Reply, bench.Run(_transaction));
        Assert.Equal(900, _transaction.ReplyRegister(0));
        Assert.Equal(0x40, bench.Read(0, 1)[0] & 0x4F);
    }

    [Theory]
    [InlineData(3, 8, 1, ExceptionCode.IllegalDataAddress)]
    [InlineData(3, 0, 9, ExceptionCode.IllegalDataAddress)]
    [InlineData(3, 64, 33, ExceptionCode.IllegalDataValue)]
    [InlineData(4, 0, 1, ExceptionCode.IllegalFunction)]
    public void Run_ReadTheSlaveRefuses_IsItsException(byte function, ushort start, ushort count, byte exception)
    {
        using var bench = new Bench(program, DriveSlaveProgram.Cia402);
        _transaction.Read(Address, function, start, count);

        Assert.Equal(TransactionResult.ExceptionReply, bench.Run(_transaction));
        Assert.Equal(exception, _transaction.ExceptionCode);
    }

    [Fact]
    public void Run_BitsDrive_TakesShortRequestsOnlyAndNoFunction23()
    {
        using var bench = new Bench(program, DriveSlaveProgram.Bits);

        Assert.Equal(8, bench.Read(200, 8).Length);
        _transaction.Read(Address, 3, 100, 9);
        Assert.Equal(TransactionResult.ExceptionReply, bench.Run(_transaction));
        Assert.Equal(ExceptionCode.IllegalDataValue, _transaction.ExceptionCode);
        _transaction.ReadWrite(Address, 200, 1, 100, [0]);
        Assert.Equal(TransactionResult.ExceptionReply, bench.Run(_transaction));
        Assert.Equal(ExceptionCode.IllegalFunction, _transaction.ExceptionCode);
    }

    [Fact]
    public void Run_SingleDrive_TakesSingleWritesReadsByFunction4AndIsBusyNowAndThen()
    {
        using var bench = new Bench(program, DriveSlaveProgram.Single);
        _transaction.WriteSingle(Address, 101, 150);
        Assert.Equal(TransactionResult.Reply, bench.Run(_transaction));
        _transaction.Read(Address, 4, 101, 1);
        Assert.Equal(TransactionResult.Reply, bench.Run(_transaction));
        Assert.Equal(150, _transaction.ReplyRegister(0));

        _transaction.WriteMultiple(Address, 101, [100]);
        Assert.Equal(TransactionResult.ExceptionReply, bench.Run(_transaction));
        Assert.Equal(ExceptionCode.IllegalFunction, _transaction.ExceptionCode);
        _transaction.Read(Address, 3, 101, 1);
        Assert.Equal(TransactionResult.ExceptionReply, bench.Run(_transaction));
        Assert.Equal(ExceptionCode.IllegalFunction, _transaction.ExceptionCode);

        _transaction.Read(Address, 4, 101, 1);
        var answers = Enumerable.Range(0, 7).Select(_ => bench.Run(_transaction) == TransactionResult.ExceptionReply ? _transaction.ExceptionCode : 0).ToArray();
        // Exception 06 is device busy (MODBUS Application Protocol V1.1b3, section 7).
        Assert.Single(answers, code => code == 6);
    }

    [Fact]
    public void Run_Cia402Drive_HomesAndMovesByItsWords()
    {
        using var bench = new Bench(program, DriveSlaveProgram.Cia402);

        // Words and masks of CiA 402: shutdown 06, switch on 07, enable operation 0F; 6F/27 is operation enabled.
        bench.Write(64, 6);
        bench.Write(64, 7);
        bench.Write(64, 0xF);
        bench.WaitFor(0, word => (word & 0x6F) == 0x27);
        bench.Write(65, 6);
        bench.Write(64, 0x1F);
        // Homing, mask 3400h: 1400h is done (CiA 402, from a secondary text).
        bench.WaitFor(0, word => (word & 0x3400) == 0x1400);
        Assert.Equal(1, bench.Read(134, 1)[0]);

        bench.Write(64, 0xF);
        bench.Write(65, 1);
        _transaction.WriteMultiple(Address, 66, [0, 3000]);
        Assert.Equal(TransactionResult.Reply, bench.Run(_transaction));
        // Set-point handshake (value from memory): raise bit 4, wait for bit 12, drop it, wait for 0, then target reached.
        bench.Write(64, 0x1F);
        bench.WaitFor(0, word => (word & 0x1000) != 0);
        bench.Write(64, 0xF);
        bench.WaitFor(0, word => (word & 0x1400) == 0x0400);
        Assert.Equal([0, 3000], bench.Read(1, 2));
    }

    [Fact]
    public void Run_BitsDrive_FindsItsReferenceAndMovesByItsBits()
    {
        using var bench = new Bench(program, DriveSlaveProgram.Bits);

        bench.Write(100, 0b00001);
        bench.WaitFor(200, status => (status & 0b00001) != 0);
        bench.Write(100, 0b01001);
        bench.WaitFor(200, status => (status & 0b10100) == 0b00100);
        _transaction.WriteMultiple(Address, 102, [5000, 1]); // low word first: 70536
        Assert.Equal(TransactionResult.Reply, bench.Run(_transaction));
        _transaction.WriteMultiple(Address, 104, [0xC350, 0]);
        Assert.Equal(TransactionResult.Reply, bench.Run(_transaction));
        bench.Write(100, 0b00011);
        bench.WaitFor(200, status => (status & 0b10010) == 0b00010);

        Assert.Equal([5000, 1], bench.Read(202, 2));
    }

    [Theory]
    [InlineData(DriveSlaveProgram.Cia402, 6)]
    [InlineData(DriveSlaveProgram.Bits, 201)]
    public void Say_FaultAndInput_ShowInTheRegisters(string kind, ushort errorRegister)
    {
        using var bench = new Bench(program, kind);

        bench.Slave.Say("fault 0x2310");
        bench.WaitFor(errorRegister, code => code == 0x2310);
        bench.Slave.Say("input 2 0");
        bench.WaitFor((ushort)(errorRegister + (kind == DriveSlaveProgram.Cia402 ? 1 : 6)), inputs => inputs == 0b101);
    }

    [Fact]
    public void Run_MutedSlave_TimesOutAndAnswersAgain()
    {
        using var bench = new Bench(program, DriveSlaveProgram.Bits);
        bench.Slave.Say("mute 1");
        bench.WaitFor(() => bench.TryRead(TimeSpan.FromMilliseconds(50)) == TransactionResult.TimedOut);
        bench.Slave.Say("mute 0");
        bench.WaitFor(() => bench.TryRead(TimeSpan.FromMilliseconds(50)) == TransactionResult.Reply);
    }

    [Theory]
    [InlineData(DriveSlaveProgram.Cia402, StateCoding.Cia402, WordOrder.HighFirst)]
    [InlineData(DriveSlaveProgram.Bits, StateCoding.Bits, WordOrder.LowFirst)]
    [InlineData(DriveSlaveProgram.Single, StateCoding.Cia402, WordOrder.LowFirst)]
    public void Definition_OfEachKind_ReadsWithoutAnError(string kind, StateCoding coding, WordOrder order)
    {
        var result = DriveDefinitionFile.Read(DriveSlaveProgram.Definition(kind));

        Assert.Empty(result.Errors);
        Assert.Equal((coding, order), (result.Value!.Coding, result.Value.Wire.WordOrder));
    }

    /// <summary>A slave, a line to it and our master.</summary>
    private sealed class Bench : IDisposable
    {
        private readonly LinuxMonotonicClock _clock = new();
        private readonly LineRelay _relay;
        private readonly Transaction _transaction = new();
        private readonly ILink _link;
        private readonly RtuMasterDriver _driver;

        public Bench(DriveSlaveProgram program, string kind)
        {
            Peer.Require(Peer.Libmodbus);
            _relay = new LineRelay();
            var line = new LineSettings(115200, LineParity.None, 1, GapRule.Standard, TimeSpan.Zero);
            Slave = program.Start(_relay.SlaveDevice, Address, kind);
            _link = SerialLink.Open(_relay.MasterDevice, line).Link!;
            _driver = new RtuMasterDriver(new RtuMaster(line), _link, _clock);
        }

        public PeerProcess Slave { get; }

        public TransactionResult Run(Transaction transaction)
        {
            transaction.ReplyTimeout = Timeout;
            return _driver.Run(transaction);
        }

        public TransactionResult TryRead(TimeSpan timeout)
        {
            _transaction.Read(Address, 3, 200, 1);
            _transaction.ReplyTimeout = timeout;
            return _driver.Run(_transaction);
        }

        public ushort[] Read(ushort start, ushort count)
        {
            _transaction.Read(Address, 3, start, count);
            Assert.Equal(TransactionResult.Reply, Run(_transaction));
            return [.. Enumerable.Range(0, count).Select(_transaction.ReplyRegister)];
        }

        public void Write(ushort register, ushort value)
        {
            _transaction.WriteSingle(Address, register, value);
            Assert.Equal(TransactionResult.Reply, Run(_transaction));
        }

        public void WaitFor(ushort register, Predicate<ushort> isWanted) => WaitFor(() => isWanted(Read(register, 1)[0]));

        public void WaitFor(Func<bool> isWanted)
        {
            var bound = _clock.Now + PeerProcess.Patience;
            while (!isWanted())
            {
                Assert.True(_clock.Now < bound, $"It never came to that. The slave says: {Slave.Output}");
            }
        }

        public void Dispose()
        {
            Slave.Dispose();
            _link.Dispose();
            _relay.Dispose();
        }
    }
}
