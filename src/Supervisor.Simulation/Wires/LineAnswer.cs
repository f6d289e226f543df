using Supervisor.Bus.Rtu;
using Supervisor.Simulation.Drives;

namespace Supervisor.Simulation.Wires;

/// <summary>A drive has answered.</summary>
/// <param name="Drive">Which, as it was then.</param>
/// <param name="Function">Function code of the request.</param>
/// <param name="Start">First register or bit that was asked for; of a read-write, of its read.</param>
/// <param name="At">When the answer's last byte has come.</param>
public readonly record struct LineAnswer(SimulatedDrive Drive, byte Function, ushort Start, TimeSpan At)
{
    /// <summary>Its registers were read.</summary>
    public bool IsRead => Function is FunctionCode.ReadHoldingRegisters or FunctionCode.ReadInputRegisters or FunctionCode.ReadWriteMultipleRegisters;

    /// <summary>What it tells every cycle was read, from its beginning.</summary>
    public bool IsFeedback => IsRead && Start == Drive.Axis.Drive.Feedback[0].Register;
}
