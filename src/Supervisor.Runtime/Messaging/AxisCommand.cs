namespace Supervisor.Runtime.Messaging;

/// <summary>What the coordinator asks of one axis.</summary>
public enum AxisCommandKind : byte
{
    None = 0,
    Enable = 1,
    Disable = 2,
    Home = 3,

    /// <summary>To a position; on an endless axis by the way its shape says.</summary>
    Move = 4,

    /// <summary>By a distance from the last target, or from the actual position when there is none.</summary>
    MoveBy = 5,

    /// <summary>Towards a position until a torque is met.</summary>
    Contact = 6,

    /// <summary>Resets a latched fault whose cause is gone.</summary>
    Reset = 7,

    /// <summary>Sets or clears bits of the drive's digital outputs.</summary>
    SetOutput = 8,

    /// <summary>Lets an axis that was stopped move again; nothing moves by it.</summary>
    Release = 9,

    /// <summary>Towards the limit in a direction (target 1 or -1) while its <see cref="Buttons.JogCell"/> is refreshed; the press id is the command's.</summary>
    Jog = 10,

    /// <summary>By a distance from the actual position.</summary>
    MoveFromHere = 11,

    /// <summary>Endless axes: in a direction (target 1 or -1) at a velocity until something else takes its place; it never arrives.</summary>
    Run = 12,

    /// <summary>Pushes against the closed brake as the machine file's proof says.</summary>
    ProveBrake = 13,

    /// <summary>
    /// By a distance from the actual position, or with 0 at rest; once at speed the drive is left unasked for longer than its communication time-out, and
    /// what it did is measured. Ends with the axis faulted.
    /// </summary>
    ProveTimeout = 14,

    /// <summary>A person says that the load which the motor holds alone is supported: the torque is taken.</summary>
    LoadSupported = 15,
}

/// <summary>One command to one axis: fixed size, crosses a mailbox by value. Stops are not commands: see <see cref="Stops.StopLatch"/>.</summary>
/// <param name="Id">Command id; unique, above 0; several axes may share one.</param>
/// <param name="Axis">Index of the axis in the machine file.</param>
/// <param name="Kind">What to do.</param>
/// <param name="StopEpoch">The axis's stop count when the command was given: a stop that came since cancels it unheard.</param>
/// <param name="Target">Position or distance, unit. For outputs: index of the output in the drive definition.</param>
/// <param name="Velocity">Unit/s, above 0 for moves.</param>
/// <param name="Acceleration">Unit/s², above 0 for moves.</param>
/// <param name="Deceleration">Unit/s², above 0 for moves.</param>
/// <param name="Torque">Percent of rated: contact torque. For outputs: 1 on, 0 off.</param>
/// <param name="Confirmed">A person confirmed what the machine cannot prove by itself; for enabling and jogging: also without a reference.</param>
/// <param name="Shape">For moves: how they are run.</param>
public readonly record struct AxisCommand(
    ulong Id,
    short Axis,
    AxisCommandKind Kind,
    int StopEpoch,
    double Target,
    double Velocity,
    double Acceleration,
    double Deceleration,
    double Torque,
    bool Confirmed = false,
    MoveShape Shape = default)
{
    /// <summary>True for what moves and ends by arriving, so that another may wait for it.</summary>
    public bool Arrives => Kind is AxisCommandKind.Move or AxisCommandKind.MoveBy or AxisCommandKind.MoveFromHere;

    /// <summary>Jogs: the farthest position, unit, where it ends before the limit does; NaN where nothing else ends it.</summary>
    public double Until { get; init; } = double.NaN;

    /// <summary>Bit i: zone i need not be clear for this motion, as it only leads out of it or a person looks.</summary>
    public ulong ExcusedZones { get; init; }
}
