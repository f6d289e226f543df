namespace Supervisor.Records.Axes;

/// <summary>The finer step inside an <see cref="AxisState"/>.</summary>
/// <remarks>Numbers are stored: append, never renumber.</remarks>
public enum AxisDetail : byte
{
    /// <summary>Nothing to add to the state.</summary>
    None = 0,

    /// <summary>The drive has not answered yet, or first contact is being made.</summary>
    Connecting = 1,

    /// <summary>Torque is being switched on and proven, the brake released.</summary>
    Energising = 2,

    /// <summary>Decelerating to rest.</summary>
    Stopping = 3,

    /// <summary>At rest; the brake closes and torque goes off.</summary>
    Deenergising = 4,

    /// <summary>An interlock is open or not reset.</summary>
    Inhibited = 5,

    /// <summary>No known zero.</summary>
    NotReferenced = 6,

    /// <summary>A contact move is pressing with its torque limit.</summary>
    Pressing = 7,

    /// <summary>Was stopped and stays until it is released.</summary>
    Stopped = 8,

    /// <summary>Standing with its brake closed on purpose, while the motor pushes against it.</summary>
    ProvingBrake = 9,

    /// <summary>Its drive is, or is about to be, left unasked on purpose, to show that it stops by its communication time-out.</summary>
    ProvingTimeout = 10,

    /// <summary>Faulted, and the motor alone holds the load: its brake has failed. Whatever takes the torque lets the load sink.</summary>
    HoldingLoad = 11,
}
