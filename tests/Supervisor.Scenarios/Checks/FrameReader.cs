using System.Buffers.Binary;
using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;

namespace Supervisor.Scenarios.Checks;

/// <summary>What a request would let a drive do.</summary>
[Flags]
public enum FrameMeaning
{
    None = 0,

    /// <summary>It carries the word or the bits that command the drive.</summary>
    Commands = 1,

    /// <summary>It starts a motion, or lets one go on that was halted.</summary>
    Moves = 2,

    /// <summary>It asks for torque.</summary>
    Energises = 4,
}

/// <summary>Reads requests to one axis by its definition, with nothing of the supervisor's own coding: by register numbers and the tables of CiA 402.</summary>
public sealed class FrameReader
{
    private const int EnableOperation = 0x0F;
    private const int Start = 0x10;
    private const int Halt = 0x100;

    private readonly DriveDefinition _drive;
    private readonly Dictionary<int, ushort> _sent = [];
    private readonly int _controlword;

    public FrameReader(AxisDefinition axis)
    {
        ArgumentNullException.ThrowIfNull(axis);
        _drive = axis.Drive;
        _controlword = _drive.Coding == StateCoding.Cia402 ? AddressOf("controlword") : -1;
    }

    /// <summary>Forgets what was sent: the drive has started anew.</summary>
    public void Forget() => _sent.Clear();

    /// <summary>Takes a request in and tells what it means.</summary>
    public FrameMeaning Read(ReadOnlySpan<byte> frame)
    {
        var (first, count, data) = frame[1] switch
        {
            FunctionCode.WriteSingleRegister => (Word(frame, 2), 1, 4),
            FunctionCode.WriteMultipleRegisters => (Word(frame, 2), Word(frame, 4), 7),
            FunctionCode.ReadWriteMultipleRegisters => (Word(frame, 6), Word(frame, 8), 11),
            _ => (0, 0, 0),
        };
        var meaning = FrameMeaning.None;
        for (var i = 0; i < count; i++)
        {
            meaning |= Take(first + i, (ushort)Word(frame, data + (2 * i)));
        }

        return meaning;
    }

    private FrameMeaning Take(int address, ushort value)
    {
        var before = _sent.GetValueOrDefault(address);
        _sent[address] = value;
        if (_drive.Coding == StateCoding.Cia402)
        {
            return address == _controlword ? OfControlword(value, before) : FrameMeaning.None;
        }

        var commands = _drive.Commands;
        var meaning = FrameMeaning.None;
        foreach (var (bit, effect) in new[] { (commands?.Go, FrameMeaning.Moves), (commands?.FindReference, FrameMeaning.Moves), (commands?.Power, FrameMeaning.Energises) })
        {
            if (bit is { } known && AddressOf(known.Field) + (known.Bit / 16) == address)
            {
                // A bit whose level is left standing starts nothing; one that is raised, or whose edge is given, does.
                var mask = 1 << (known.Bit % 16);
                meaning |= FrameMeaning.Commands | ((value & mask) != 0 && ((before & mask) == 0 || known.Rising) ? effect : FrameMeaning.None);
            }
        }

        return meaning;
    }

    private static FrameMeaning OfControlword(ushort value, ushort before)
    {
        var meaning = FrameMeaning.Commands;
        if ((value & 0x8F) != EnableOperation)
        {
            return meaning;
        }

        meaning |= FrameMeaning.Energises;
        var releases = (before & EnableOperation) == EnableOperation && (before & Halt) != 0 && (value & Halt) == 0;
        return (value & Start) != 0 || releases ? meaning | FrameMeaning.Moves : meaning;
    }

    private int AddressOf(string field) => (_drive.CommandField(field)?.Register ?? -1) - _drive.Wire.FirstRegister;

    private static int Word(ReadOnlySpan<byte> frame, int offset) => BinaryPrimitives.ReadUInt16BigEndian(frame[offset..]);
}
