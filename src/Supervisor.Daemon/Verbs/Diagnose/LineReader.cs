using Supervisor.Bus;
using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Machines;

namespace Supervisor.Daemon.Verbs.Diagnose;

/// <summary>Asks devices of one line for registers and bits, and can't do anything else: it writes nothing.</summary>
/// <param name="port">The port as the machine file has it.</param>
/// <param name="line">Settings of the line.</param>
/// <param name="link">The open device.</param>
/// <param name="clock">The clock the link's deadlines are on.</param>
internal sealed class LineReader(PortDefinition port, LineSettings line, ILink link, IMonotonicClock clock)
{
    private readonly RtuMasterDriver _driver = new(new RtuMaster(line), link, clock);

    /// <summary>The last request and its end.</summary>
    public Transaction Last { get; } = new();

    /// <summary>True once any device has answered, well or with an exception.</summary>
    public bool HasHeard { get; private set; }

    /// <summary>True once bytes came that were no answer.</summary>
    public bool HasHeardNoise { get; private set; }

    /// <summary>True when the adapter hears what it sends.</summary>
    public bool HearsItself { get; private set; }

    /// <summary>Requests of the last question.</summary>
    public int Requests { get; private set; }

    /// <summary>Reads registers by function 3 or 4.</summary>
    public TransactionResult Read(byte unit, byte function, ushort start, ushort count, TimeSpan turnaround)
    {
        Last.Read(unit, function, start, count);
        return Run(turnaround);
    }

    /// <summary>Reads bits by function 1 or 2.</summary>
    public TransactionResult ReadBits(byte unit, byte function, ushort start, ushort count, TimeSpan turnaround)
    {
        Last.ReadBits(unit, function, start, count);
        return Run(turnaround);
    }

    /// <summary>Reads what a device tells of itself by function 43.</summary>
    public IdentificationReading Identify(byte unit, TimeSpan turnaround)
    {
        var reading = new IdentificationReading(unit, IdentificationAccess.Regular);
        do
        {
            reading.Ask(Last);
            Run(turnaround);
        }
        while (reading.Take(Last) == IdentificationState.Asking);
        return reading;
    }

    private TransactionResult Run(TimeSpan turnaround)
    {
        Last.ReplyTimeout = port.ResponseTimeout + turnaround;
        for (Requests = 1; ; Requests++)
        {
            var result = _driver.Run(Last);
            HasHeard |= result is TransactionResult.Reply or TransactionResult.ExceptionReply;
            HasHeardNoise |= result == TransactionResult.Garbled;
            HearsItself |= Last.Fault == FrameFault.OwnRequest;
            var isBusy = result == TransactionResult.ExceptionReply && Last.ExceptionCode is ExceptionCode.Acknowledge or ExceptionCode.DeviceBusy;
            if (result is TransactionResult.Reply or TransactionResult.LinkGone || (result == TransactionResult.ExceptionReply && !isBusy) || Requests > port.Retries)
            {
                return result;
            }
        }
    }
}
