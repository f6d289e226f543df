using Supervisor.Bus;
using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>Asks a drive of the bench itself, past the daemon, which must have ended: a line has one master.</summary>
internal static class DriveLine
{
    private const int Registers = 5;

    /// <summary>Reads the registers of the demo's definition: statusword 0, position 1, velocity 3.</summary>
    /// <param name="link">Device node of the line.</param>
    /// <param name="unit">Address of the drive.</param>
    /// <param name="countsPerUnit">Of its axis; position and velocity are in the axis's unit.</param>
    public static (ushort Statusword, double Position, double Velocity) Read(string link, byte unit, double countsPerUnit)
    {
        var line = new LineSettings(115_200, LineParity.None, 1, GapRule.Standard, default);
        var opening = SerialLink.Open(link, line);
        Assert.True(opening.Link is not null, opening.Reason);
        using var owned = opening.Link;
        var driver = new RtuMasterDriver(new RtuMaster(line), owned, MonotonicClock.System);
        var transaction = new Transaction { ReplyTimeout = TimeSpan.FromSeconds(1) };
        transaction.Read(unit, 3, 0, Registers);
        Assert.Equal(TransactionResult.Reply, driver.Run(transaction));
        return (transaction.ReplyRegister(0), Long(transaction, 1) / countsPerUnit, Long(transaction, 3) / countsPerUnit);
    }

    private static int Long(Transaction transaction, int register) => (transaction.ReplyRegister(register) << 16) | transaction.ReplyRegister(register + 1);
}
