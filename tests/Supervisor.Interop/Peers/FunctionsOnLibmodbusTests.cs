using System.Runtime.Versioning;
using Supervisor.Bus;
using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;

namespace Supervisor.Interop.Peers;

/// <summary>Functions 04, 05, 0Fh and 16h, our master against libmodbus' slave and libmodbus' master against our slave. It has neither 08 nor 2Bh.</summary>
[SupportedOSPlatform("linux")]
public sealed class FunctionsOnLibmodbusTests(ModuleSlaveProgram program)
{
    private const byte Address = 9;
    private static readonly LineSettings Line = new(115200, LineParity.None, 1, GapRule.Standard, TimeSpan.Zero);

    [Fact]
    public void Run_OurMaster_ReadsAndWritesTheSlavesBits()
    {
        Peer.Require(Peer.Libmodbus);
        using var relay = new LineRelay();
        using var slave = program.Start(relay.SlaveDevice, Address);
        using var link = SerialLink.Open(relay.MasterDevice, Line).Link!;
        var driver = new RtuMasterDriver(new RtuMaster(Line), link, new LinuxMonotonicClock());
        var transaction = new Transaction();

        transaction.WriteCoil(Address, 2, true);
        Assert.Equal(TransactionResult.Reply, Run());
        Assert.Equal(0b0000_0100, Outputs());

        transaction.WriteCoils(Address, 0, [true, false, false, true, false, false, false, true]);
        Assert.Equal(TransactionResult.Reply, Run());
        Assert.Equal(0b1000_1001, Outputs());

        // Keeps bits 7 to 4, sets bit 1 and clears the rest of the low ones.
        transaction.MaskWrite(Address, 100, 0xFFF0, 0x0002);
        Assert.Equal(TransactionResult.Reply, Run());
        Assert.Equal(0b1000_0010, Outputs());

        slave.Say("input 5 1");
        var clock = new LinuxMonotonicClock();
        var bound = clock.Now + PeerProcess.Patience;
        do
        {
            Assert.True(clock.Now < bound, $"The input never showed. The slave says: {slave.Output}");
            transaction.Read(Address, 4, 0, 1);
            Assert.Equal(TransactionResult.Reply, Run());
        }
        while (transaction.ReplyRegister(0) != 1 << 5);

        int Outputs()
        {
            transaction.Read(Address, 3, 100, 1);
            Assert.Equal(TransactionResult.Reply, Run());
            return transaction.ReplyRegister(0);
        }

        TransactionResult Run()
        {
            transaction.ReplyTimeout = TimeSpan.FromSeconds(5);
            return driver.Run(transaction);
        }
    }

    [Fact]
    public void Run_SilentAddressesAskedForRegister768_LeaveTheSlaveInStep()
    {
        // A slave on libmodbus takes what follows a request to another address for that one's answer, and reads as much as its third byte says: a request
        // with 3 there has just that length. So a scan that asks twice is heard, however many addresses before were silent.
        Peer.Require(Peer.Libmodbus);
        using var relay = new LineRelay();
        using var slave = program.Start(relay.SlaveDevice, Address);
        using var link = SerialLink.Open(relay.MasterDevice, Line).Link!;
        var driver = new RtuMasterDriver(new RtuMaster(Line, TimeSpan.Zero), link, new LinuxMonotonicClock());
        var transaction = new Transaction();
        for (byte silent = 1; silent < Address; silent++)
        {
            for (var first = silent; first < Address; first++)
            {
                Assert.Equal(TransactionResult.TimedOut, Ask(first, 30));
            }

            // Less than the half second of silence after which it finds the beginning of a frame by itself; more tries than a scan has, for computers that stall.
            var tries = 0;
            while (tries < 6 && Ask(Address, 250) == TransactionResult.TimedOut)
            {
                tries++;
            }

            Assert.True(tries < 6, $"Not heard behind {Address - silent} silent addresses.");
        }

        TransactionResult Ask(byte unit, int timeoutMs)
        {
            transaction.Read(unit, 3, 0x0300, 1);
            transaction.ReplyTimeout = TimeSpan.FromMilliseconds(timeoutMs);
            return driver.Run(transaction);
        }
    }

    [Fact]
    public void Answer_LibmodbusMaster_HasWhatItWrote()
    {
        Peer.Require(Peer.Libmodbus);
        using var slave = new OurSlave();
        (slave.Inputs[3], slave.Inputs[4]) = (0x1234, 0xBEEF);
        slave.Registers[4] = 0x0012;
        slave.Coils[6] = true;
        var folder = Directory.CreateTempSubdirectory("function-master-");
        try
        {
            var master = Path.Combine(folder.FullName, "function_master");
            var (found, flags) = PeerProcess.Run("pkg-config", ["--cflags", "--libs", "libmodbus"]);
            Assert.True(found == 0, flags);
            var (compiled, errors) = PeerProcess.Run(
                "cc",
                ["-std=gnu11", "-Wall", "-Werror", "-o", master, Path.Combine(AppContext.BaseDirectory, "Peers", "Masters", "function_master.c"), .. flags.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries)]);
            Assert.True(compiled == 0, errors);

            var (code, output) = PeerProcess.Run(master, [slave.Device, "3"]);

            Assert.True(code == 0, output);
            Assert.Contains("input 1234 BEEF", output, StringComparison.Ordinal);
            // App 6.16: 12h with masks F2h and 25h becomes 17h.
            Assert.Equal(0x0017, slave.Registers[4]);
            Assert.Equal([5, 8, 10, 11, 14, 15, 16], Enumerable.Range(0, 64).Where(coil => slave.Coils[coil]));
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }
}
