using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads ports.</summary>
/// <remarks>
/// Left out: no parity; two stop bits without parity and one with it, as MODBUS over Serial Line V1.02, 2.5.1, wants characters of 11 bits (a drive
/// set to one stop bit understands two); gap standard; half the cycle, at most 100 ms, for a reply; two retries; no direction switched by the driver;
/// 2 % and 25 % of the last 1,000 exchanges failed for a warning and a fault.
/// </remarks>
internal sealed class PortReader(LoadedFile file)
{
    private const double LongestDefaultTimeoutMs = 100;

    private static readonly Choices<ParityKind> Parities = new(("none", ParityKind.None), ("even", ParityKind.Even), ("odd", ParityKind.Odd));

    private static readonly Choices<GapKind> Gaps = new(("standard", GapKind.Standard), ("proportional", GapKind.Proportional));

    private static readonly Choices<bool> Sends = new(("rtsHigh", true), ("rtsLow", false));

    // The kernel cuts longer ones to 100 ms (drivers/tty/serial/serial_core.c, value from memory).
    private static readonly NumberRange Rs485DelayMs = new(0, 100, Milliseconds.Unit);

    private readonly UsedOnce<string> names = new(file.Errors);
    private readonly UsedOnce<string> devices = new(file.Errors);

    public PortDraft Read(Node node)
    {
        if (ObjectReader.Open(node, MachineShapes.Port, file.Errors) is not { } port)
        {
            return new PortDraft(null, double.NaN, new PortDefinition("", "", 0, default, 0, default, default, default, 0));
        }

        // '=' ends the name where a port's device is given on the command line.
        var name = Names.Read(port.Require("name", "name of the port"), ".=", file.Errors);
        if (name is not null)
        {
            names.Note(name, port.Find("name")!, line => $"port {Show.Quoted(name)} appears twice; first in line {line}");
        }

        var device = ReadDevice(port);
        var baud = port.Integer("baud", new NumberRange(1, 20_000_000, "bit/s"), "bits per second");
        var parity = port.Choice("parity", Parities, ParityKind.None);
        var stopBits = port.Integer("stopBits", new NumberRange(1, 2, ""), fallback: parity == ParityKind.None ? 2 : 1);
        var cycleMs = port.Number("cycleMs", NumberRange.Above0(Milliseconds.Unit, 10_000), "time in which every axis of the port is exchanged once, ms");
        var gap = ReadGap(port);
        var timeoutMs = ReadResponseTimeout(port, cycleMs);
        var retries = port.Integer("retries", new NumberRange(0, 10, ""), fallback: 2);
        var definition = new PortDefinition(
            name ?? "", device, baud ?? 0, parity ?? default, stopBits ?? 0, Milliseconds.ToTime(cycleMs), gap, Milliseconds.ToTime(timeoutMs), retries ?? 0)
        {
            Rs485 = ReadRs485(port),
            ErrorRate = ReadErrorRate(port),
        };
        return new PortDraft(name, cycleMs, definition);
    }

    private string ReadDevice(ObjectReader port)
    {
        if (port.Text("device", "path of the device node") is not { } device)
        {
            return "";
        }

        // Ports of Windows have names, not paths.
        var path = OperatingSystem.IsWindows() ? device : Path.GetFullPath(file.Beside(device));
        devices.Note(path, port.Find("device")!, line => $"{Show.Quoted(device)} is already the device of the port in line {line}");
        return path;
    }

    private GapDefinition ReadGap(ObjectReader port)
    {
        if (port.Find("gap") is not { } node)
        {
            return new GapDefinition(GapKind.Standard, TimeSpan.Zero);
        }

        if (node.Kind == NodeKind.Text)
        {
            return new GapDefinition(Values.Choice(node, Gaps, file.Errors) ?? default, TimeSpan.Zero);
        }

        if (node.Kind != NodeKind.Object)
        {
            file.Errors.WrongKind(node, "\"standard\", \"proportional\" or { \"us\": … }");
            return default;
        }

        var gap = ObjectReader.Open(node, MachineShapes.Gap, file.Errors)!;
        var us = gap.Number("us", NumberRange.Above0("us", 100_000), "the silence in microseconds");
        return new GapDefinition(GapKind.Fixed, Milliseconds.ToTime(us / 1000));
    }

    private static Rs485Definition? ReadRs485(ObjectReader port)
    {
        if (port.Object("rs485", MachineShapes.Rs485) is not { } rs485)
        {
            return null;
        }

        var send = rs485.Choice("send", Sends, "\"rtsHigh\" or \"rtsLow\": RTS while sending");
        var before = rs485.Integer("delayBeforeMs", Rs485DelayMs, fallback: 0);
        var after = rs485.Integer("delayAfterMs", Rs485DelayMs, fallback: 0);
        return new Rs485Definition(send ?? true, TimeSpan.FromMilliseconds(before ?? 0), TimeSpan.FromMilliseconds(after ?? 0));
    }

    private static ErrorRateDefinition ReadErrorRate(ObjectReader port)
    {
        var usual = ErrorRateDefinition.Usual;
        if (port.Object("errorRate", MachineShapes.ErrorRate) is not { } rate)
        {
            return usual;
        }

        var exchanges = rate.Integer("exchanges", new NumberRange(100, 10_000, ""), usual.Exchanges);
        var warning = rate.Number("warningPercent", NumberRange.Above0("%", 100), usual.WarningPercent);
        var fault = rate.Number("faultPercent", NumberRange.Above0("%", 100), Math.Max(usual.FaultPercent, double.IsNaN(warning) ? 0 : Math.Min(100, 2 * warning)));
        if (fault <= warning)
        {
            rate.Refuse(rate.Find("faultPercent") is null ? "warningPercent" : "faultPercent", $"the fault's {Show.Number(fault)} % is not above the warning's {Show.Number(warning)} %");
        }

        return new ErrorRateDefinition(exchanges ?? usual.Exchanges, warning, fault);
    }

    private static double ReadResponseTimeout(ObjectReader port, double cycleMs)
    {
        var fallback = double.IsNaN(cycleMs) ? 0 : Math.Min(cycleMs / 2, LongestDefaultTimeoutMs);
        var timeoutMs = port.Number("responseTimeoutMs", NumberRange.Above0(Milliseconds.Unit, 10_000), fallback);
        if (timeoutMs >= cycleMs)
        {
            port.Refuse(
                "responseTimeoutMs",
                $"{Show.Number(timeoutMs)} ms is not below cycleMs {Show.Number(cycleMs)} ms: one silent drive would take the whole cycle");
        }

        return timeoutMs;
    }
}
