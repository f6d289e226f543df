using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Simulation.Drives;
using Supervisor.Simulation.Modules;

namespace Supervisor.Simulation.Wires;

/// <summary>The drives and modules of one port behind one wire. A step machine: no I/O, no clock.</summary>
public sealed class SimulatedLine
{
    private readonly RtuSlave _slave = new();
    private readonly Dictionary<byte, SimulatedDrive> _byAddress = [];
    private readonly Dictionary<byte, SimulatedModule> _modules = [];

    /// <summary>Puts drives and modules on the line of a port.</summary>
    public SimulatedLine(PortDefinition port, IEnumerable<SimulatedDrive> drives, IEnumerable<SimulatedModule>? modules = null)
    {
        Port = port;
        Line = new LineSettings(port.Baud, (LineParity)port.Parity, port.StopBits, (GapRule)port.Gap.Kind, port.Gap.Fixed);
        Drives = [.. drives];
        foreach (var drive in Drives)
        {
            _byAddress.Add(drive.Axis.Address, drive);
            _slave.Serve(drive.Axis.Address, drive);
        }

        foreach (var module in modules ?? [])
        {
            _modules.Add(module.Module.Address, module);
            _slave.Serve(module.Module.Address, module);
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

    /// <summary>Told of every answer that is not an exception, while the drive is as it was when it answered: the simulation's own log.</summary>
    public Action<LineAnswer>? Answered { get; set; }

    /// <summary>Lets time pass for every drive of the line.</summary>
    public void Advance(TimeSpan now)
    {
        foreach (var drive in Drives)
        {
            drive.Advance(now);
        }

        foreach (var module in _modules.Values)
        {
            module.Advance(now);
        }
    }

    /// <summary>Time in which the simulation itself could not listen does not count as a master's silence.</summary>
    public void ExcuseSilence(TimeSpan time)
    {
        foreach (var drive in Drives)
        {
            drive.ExcuseSilence(time);
        }

        foreach (var module in _modules.Values)
        {
            module.ExcuseSilence(time);
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

        if (request[0] == 0)
        {
            // A broadcast reaches every drive that is awake; nobody answers.
            return _slave.Answer(request, reply);
        }

        if (_modules.TryGetValue(request[0], out var module))
        {
            int told = module.IsSilent ? 0 : _slave.Answer(request, reply);
            replyAt = told > 0 ? now + module.Module.Turnaround + Line.CharacterTime(told) : now;
            return told;
        }

        if (!_byAddress.TryGetValue(request[0], out var drive) || drive.IsSilent)
        {
            return 0;
        }

        if (request[1] is FunctionCode.Diagnostics or FunctionCode.EncapsulatedInterface && Crc16.IsIntact(request))
        {
            drive.Hear();
        }

        int length = Serves(drive.Axis.Drive, request[1]) ? _slave.Answer(request, reply) : Refuse(request, reply);
        if (length > 0)
        {
            replyAt = now + drive.Axis.Drive.Wire.Turnaround + Line.CharacterTime(length);
            if (reply[1] < FunctionCode.ExceptionBit)
            {
                Answered?.Invoke(new LineAnswer(drive, request[1], (ushort)((request[2] << 8) | request[3]), replyAt));
            }
        }

        return length;
    }

    /// <summary>A drive has the functions its definition names, and an echo; one that writes many registers at once also writes a single one.</summary>
    private static bool Serves(DriveDefinition drive, byte function) => function switch
    {
        FunctionCode.ReadHoldingRegisters or FunctionCode.ReadInputRegisters =>
            function == drive.Wire.ReadFunction
            || drive.Feedback.Concat(drive.Command).Concat(drive.Parameters).Any(field => field.ReadFunction(drive.Wire) == function),
        FunctionCode.WriteSingleRegister => true,
        FunctionCode.WriteMultipleRegisters => function == drive.Wire.WriteFunction,
        FunctionCode.ReadWriteMultipleRegisters => drive.Wire.HasReadWrite,
        FunctionCode.Diagnostics => true,
        FunctionCode.EncapsulatedInterface => drive.Identification is not null,
        _ => false,
    };

    private static int Refuse(ReadOnlySpan<byte> request, Span<byte> reply)
    {
        if (!Crc16.IsIntact(request) || request[1] >= FunctionCode.ExceptionBit)
        {
            return 0;
        }

        reply[0] = request[0];
        reply[1] = (byte)(request[1] | FunctionCode.ExceptionBit);
        reply[2] = ExceptionCode.IllegalFunction;
        return Crc16.Append(reply, 3);
    }
}
