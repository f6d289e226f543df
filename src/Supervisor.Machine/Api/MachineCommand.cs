using Supervisor.Machine.Modes;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Machine.Api;

/// <summary>What a person, a client or a routine asks of the machine.</summary>
public abstract record MachineCommand;

/// <summary>Energises axes; done once each is Ready.</summary>
public sealed record EnableCommand(IReadOnlyList<int> Axes) : MachineCommand;

/// <summary>Stops axes if they move, closes brakes and removes torque; done once torque is off.</summary>
public sealed record DisableCommand(IReadOnlyList<int> Axes) : MachineCommand;

/// <summary>Homes axes in the order of the machine file; an empty list means every axis that has a homing.</summary>
/// <param name="Axes">Indices of the axes.</param>
/// <param name="Confirmed">A person confirms what can't be proven: that a zero which is only set is where the axis stands, and that an axis which does not know its place is out of the way.</param>
public sealed record HomeCommand(IReadOnlyList<int> Axes, bool Confirmed = false) : MachineCommand;

/// <summary>Moves axes, all begun together; done once every one has arrived. One that runs without end never is: it ends by being replaced.</summary>
/// <param name="Targets">One entry an axis.</param>
/// <param name="Velocity">Unit/s; null: each axis's limit. Targets without end bring their own.</param>
public sealed record MoveCommand(IReadOnlyList<MoveTarget> Targets, double? Velocity) : MachineCommand
{
    /// <summary>Unit/s² at the start; null: each axis's limit.</summary>
    public double? Acceleration { get; init; }

    /// <summary>Unit/s² at the end; null: each axis's limit. A halt and a stop brake with the axis's limit all the same.</summary>
    public double? Deceleration { get; init; }

    /// <summary>Slow parts at start or end; null: none.</summary>
    public ApproachSpeed? Approach { get; init; }

    /// <summary>True: each axis begins when its running move has arrived, one that stands at once. At most one move waits on an axis.</summary>
    public bool AfterCurrent { get; init; }
}

/// <summary>A low constant speed over a stated part of a move. A change of speed that comes late makes the slow part shorter; the target is never passed for it.</summary>
/// <param name="Velocity">Unit/s, above 0.</param>
/// <param name="EndDistance">Length of the slow part before the target, unit, 0 or more.</param>
/// <param name="StartDistance">Length of the slow part at the start, unit, 0 or more.</param>
public sealed record ApproachSpeed(double Velocity, double EndDistance, double StartDistance);

/// <summary>Where one axis goes.</summary>
/// <param name="Axis">Index of the axis.</param>
/// <param name="Value">Position, or with <paramref name="Relative"/> a distance from the last target, in the axis's unit.</param>
/// <param name="Relative">True for a distance.</param>
public readonly record struct MoveTarget(int Axis, double Value, bool Relative)
{
    /// <summary>True: the value is a distance from where the axis is, not from its last target.</summary>
    public bool FromActual { get; init; }

    /// <summary>True: the value is a velocity with its sign, unit/s, at which an endless axis runs until something takes the move's place.</summary>
    public bool WithoutEnd { get; init; }

    /// <summary>Way to a position of an endless axis; others are refused any but the shortest.</summary>
    public WayRound Way { get; init; }

    /// <summary>True when the value is a position.</summary>
    public bool IsPosition => !Relative && !FromActual && !WithoutEnd;
}

/// <summary>Moves an axis towards a position until its torque is met; failed when the position comes first.</summary>
/// <param name="Axis">Index of the axis.</param>
/// <param name="Toward">Farthest position, unit.</param>
/// <param name="Torque">Percent of rated.</param>
/// <param name="Velocity">Unit/s.</param>
public sealed record ContactCommand(int Axis, double Toward, double Torque, double Velocity) : MachineCommand;

/// <summary>Stops axes in order and locks them until they are released; an empty list means all. Needs no authority. Done once each is at rest.</summary>
/// <param name="Axes">Indices of axes.</param>
/// <param name="By">Name of the person or program, told to whoever finds an axis stopped; empty when it is not known.</param>
public sealed record StopCommand(IReadOnlyList<int> Axes, string By = "") : MachineCommand;

/// <summary>Brings axes to rest in order; an empty list means all. Needs no authority. A move may follow at once and then takes the halt's place.</summary>
public sealed record HaltCommand(IReadOnlyList<int> Axes) : MachineCommand;

/// <summary>Lets axes that were stopped move again; an empty list means all. Moves nothing.</summary>
public sealed record ReleaseCommand(IReadOnlyList<int> Axes) : MachineCommand;

/// <summary>Resets faults of axes whose cause is gone, and process interlocks; an empty list means all.</summary>
/// <param name="Axes">Indices of the axes.</param>
/// <param name="LoadSupported">
/// A person says that the loads are supported which the motors of these axes hold alone: their torque is taken, the fault stays. Axes must be named.
/// </param>
public sealed record ResetCommand(IReadOnlyList<int> Axes, bool LoadSupported = false) : MachineCommand;

/// <summary>Pushes against the closed brakes of axes as the machine file's proofs say; done once each has held. Not a safety function.</summary>
public sealed record ProveBrakeCommand(IReadOnlyList<int> Axes) : MachineCommand;

/// <summary>
/// Leaves the drive of an axis unasked for longer than its communication time-out, at speed or at rest, and measures what it does. Done when it stopped as
/// its definition says; the axis is then faulted by the drive's time-out and waits for its reset. Not a safety function.
/// </summary>
/// <param name="Axis">Index of the axis.</param>
/// <param name="By">The way it may go at most, from where it is, unit with its sign; 0: at rest.</param>
/// <param name="Velocity">Unit/s; null: the most that the mode permits.</param>
/// <param name="Confirmed">A person confirms that the axis may be stopped by its drive alone.</param>
public sealed record ProveTimeoutCommand(int Axis, double By, double? Velocity, bool Confirmed) : MachineCommand;

/// <summary>Moves an axis towards its limit while a press is refreshed; see <see cref="MachineControl.Jog"/>.</summary>
/// <param name="Axis">Index of the axis.</param>
/// <param name="Positive">The direction.</param>
/// <param name="Velocity">Unit/s; null: the machine file's jog velocity.</param>
public sealed record JogCommand(int Axis, bool Positive, double? Velocity) : MachineCommand;

/// <summary>Chooses what the machine is used for. Starts nothing; refused while an axis is in motion.</summary>
public sealed record ChooseModeCommand(MachineMode Mode) : MachineCommand;

/// <summary>Sets a digital output; done once its place has confirmed the level.</summary>
/// <param name="Axis">Index of the axis whose drive carries it; -1: an output that the machine file names.</param>
/// <param name="Output">Name in the drive definition, or in the machine file.</param>
/// <param name="On">The level.</param>
public sealed record SetOutputCommand(int Axis, string Output, bool On) : MachineCommand;

/// <summary>Switches the drives' power on or off by the power-enable output; done once the contactor's mirror contact proves it. Moves nothing.</summary>
public sealed record SwitchPowerCommand(bool On) : MachineCommand;
