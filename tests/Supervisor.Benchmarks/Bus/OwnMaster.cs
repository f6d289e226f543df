using System.Runtime.Versioning;
using Supervisor.Benchmarks.Peers;
using Supervisor.Bus;
using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;

namespace Supervisor.Benchmarks.Bus;

/// <summary>The master of a port, with the link that a port has, on the calling thread.</summary>
/// <param name="device">The device node.</param>
/// <param name="line">Times that it keeps.</param>
[SupportedOSPlatform("linux")]
internal sealed class OwnMaster(string device, LineSettings line)
{
    private const int Words = 8;
    private const ushort WrittenFrom = 64;

    // A computer whose processors are all busy takes its time to carry bytes through a terminal; libmodbus is given the same.
    private static readonly TimeSpan ReplyTimeout = TimeSpan.FromSeconds(10);

    /// <summary>A line on which bytes take no time and nothing is waited for, as on a pseudo-terminal.</summary>
    public static LineSettings WithoutTime => new(int.MaxValue, LineParity.None, 2, GapRule.Fixed, TimeSpan.Zero);

    /// <summary>Asks again and again: function 23 writes 8 registers and reads 8, function 3 reads 8. The next request follows as soon as the reply was read and the line's silence kept.</summary>
    public Round Run(byte function, int exchanges)
    {
        using var link = SerialLink.Open(device, line with { Baud = 115_200 }).Link ?? throw new InvalidOperationException($"{device} can't be opened");
        var clock = MonotonicClock.System;
        var driver = new RtuMasterDriver(new RtuMaster(line), link, clock);
        var transaction = new Transaction { ReplyTimeout = ReplyTimeout };
        Span<ushort> written = stackalloc ushort[Words];
        var sum = 0;
        var usedBefore = ProcessorTime.Used;
        var begun = clock.Now;
        for (var i = 0; i < exchanges; i++)
        {
            written[0] = (ushort)i;
            if (function == FunctionCode.ReadWriteMultipleRegisters)
            {
                transaction.ReadWrite(1, 0, Words, WrittenFrom, written);
            }
            else
            {
                transaction.Read(1, function, 0, Words);
            }

            if (driver.Run(transaction) != TransactionResult.Reply)
            {
                throw new InvalidOperationException($"exchange {i} ended as {transaction.Result}");
            }

            for (var word = 0; word < Words; word++)
            {
                sum += transaction.ReplyRegister(word);
            }
        }

        GC.KeepAlive(sum);
        return new Round(exchanges, clock.Now - begun, ProcessorTime.Used - usedBefore);
    }
}
