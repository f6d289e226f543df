using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Machines;
using Supervisor.Simulation.Drives;

namespace Supervisor.Simulation.Wires;

/// <summary>The drives of one port behind one wire. A step machine: no I/O, no clock.</summary>
public sealed class SimulatedLine
{
    /// <summary>Illegal function.</summary>
    private const byte IllegalFunction = 1;

    private readonly RtuSlave _slave = new();
    private readonly Dictionary<byte, SimulatedDrive> _byAddress = [];

    /// <summary>Puts drives on the line of a port.</summary>
    public SimulatedLine(PortDefinition port, IEnumerable<SimulatedDrive> drives)
    {
        Port = port;
        Line = new LineSettings(port.Baud, (LineParity)port.Parity, port.StopBits, (GapRule)port.Gap.Kind, port.Gap.Fixed);
        Drives = [.. drives];
        foreach (var drive in Drives)
        {
            _byAddress.Add(drive.Axis.Address, drive);
            _slave.Serve(drive.Axis.Address, drive);
        }
    }

    /// <summary>The port as the machine file has it.</summary>
    public PortDefinition Port { get; }

    /// <summary>Settings of the line.</summary>
    public LineSettings Line { get; }

    /// <summary>Its drives, in the file's order.</summary>
    public IReadOnlyList<SimulatedDrive> Drives { get; }

    /// <summary>True while the wire is pulled: nobody hears, nobody answers, and the drives go on by themselves.</summary>
    public bool IsUnplugged { get; set; }

    /// <summary>Lets time pass for every drive of the line.</summary>
    public void Advance(TimeSpan now)
    {
        foreach (var drive in Drives)
        {
            drive.Advance(now);
        }
    }

    /// <summary>Answers a request.</summary>
    /// <param name="request">The frame with its CRC.</param>
    /// <param name="now">When its last byte had come.</param>
    /// <param name="reply">Where the reply goes, at least 256 bytes.</param>
    /// <param name="replyAt">When the reply's last byte has come: after turnaround and time on the wire.</param>
    /// <returns>Bytes of the reply; 0 for silence.</returns>
    public int Answer(ReadOnlySpan<byte> request, TimeSpan now, Span<byte> reply, out TimeSpan replyAt)
    {
        replyAt = now;
        Advance(now);
        if (IsUnplugged || request.Length < 4)
        {
            return 0;
        }

        byte address = request[0];
        if (address != 0 && (!_byAddress.TryGetValue(address, out var drive) || drive.IsSilent))
        {
            return 0;
        }

        int length = _slave.Answer(request, reply);
        if (length == 0)
        {
            return 0;
        }

        var asked = _byAddress[address];
        replyAt = now + asked.Axis.Drive.Wire.Turnaround + Line.CharacterTime(length);
        return length;
    }
}
