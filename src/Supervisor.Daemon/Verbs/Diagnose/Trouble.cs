using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Machines;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Verbs.Diagnose;

/// <summary>A request that was not answered as it should be, in words.</summary>
internal static class Trouble
{
    /// <summary>The finding.</summary>
    /// <param name="reader">With the request and its end.</param>
    /// <param name="port">The line.</param>
    /// <param name="asked">What was asked for, such as "registers 0 to 7".</param>
    /// <param name="file">What in the file says so, such as "the drive definition".</param>
    public static Finding Of(LineReader reader, PortDefinition port, string asked, string file) => reader.Last.Result switch
    {
        TransactionResult.ExceptionReply => Finding.Wrong(
            $"refuses {asked}: exception {reader.Last.ExceptionCode} ({Exception(reader.Last.ExceptionCode)})",
            $"compare {file} with the manual of what is really there: function, register numbers and where they are counted from"),
        TransactionResult.Garbled when reader.Last.Fault == FrameFault.OwnRequest => Finding.Wrong($"can't be asked for {asked}: {SelfHearing.Finding}", SelfHearing.Advice),
        TransactionResult.Garbled => Finding.Wrong(
            $"its answers are garbled ({Fault(reader.Last.Fault)}): {asked}, {Requests(reader)}",
            $"compare baud rate, parity and stop bits ({Settings(port)}), look for a second device with the same address, then check termination, shield and ground"),
        TransactionResult.LinkGone => Finding.Wrong($"the port went away while it was asked for {asked}", "check the adapter's plug and its supply"),
        _ => Finding.Wrong(
            $"does not answer: {asked}, {Requests(reader)}",
            $"check its supply, its plug, its address and its line settings ({Settings(port)}); responseTimeoutMs is {Text.Of(port.ResponseTimeout.TotalMilliseconds)} ms"),
    };

    /// <summary>Line settings in short.</summary>
    public static string Settings(PortDefinition port)
    {
        var parity = port.Parity switch { ParityKind.Even => "even parity", ParityKind.Odd => "odd parity", _ => "no parity" };
        return $"{port.Baud} baud, {parity}, {port.StopBits} stop bit{(port.StopBits == 1 ? "" : "s")}";
    }

    private static string Requests(LineReader reader) => reader.Requests == 1 ? "asked once" : $"asked {reader.Requests} times";

    /// <summary>Names of exceptions: MODBUS Application Protocol Specification V1.1b3, section 7.</summary>
    private static string Exception(byte code) => code switch
    {
        1 => "illegal function",
        2 => "illegal data address",
        3 => "illegal data value",
        4 => "device failure",
        5 => "acknowledge",
        6 => "device busy",
        _ => "the maker's own",
    };

    private static string Fault(FrameFault fault) => fault switch
    {
        FrameFault.BadCrc => "wrong check sum",
        FrameFault.Cut => "cut short",
        FrameFault.TooLong => "too long",
        FrameFault.WrongUnit => "another address answers",
        _ => "no answer to what was asked",
    };
}
