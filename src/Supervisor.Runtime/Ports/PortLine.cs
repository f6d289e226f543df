using Supervisor.Bus.Links;
using Supervisor.Configuration.Machines;

namespace Supervisor.Runtime.Ports;

/// <summary>Settings of a line as a machine file's port asks for them.</summary>
public static class PortLine
{
    /// <summary>Settings of the port's line.</summary>
    public static LineSettings Of(PortDefinition port)
    {
        ArgumentNullException.ThrowIfNull(port);
        return new LineSettings(port.Baud, (LineParity)(int)port.Parity, port.StopBits, (GapRule)(int)port.Gap.Kind, port.Gap.Fixed)
        {
            Rs485 = port.Rs485 is { } rs485 ? new Rs485Settings(rs485.SendsOnHighRts, rs485.DelayBefore, rs485.DelayAfter) : null,
        };
    }
}
