namespace Supervisor.Records.Faults;

/// <summary>Faults that are treated alike. A machine file's recovery entries name these in camel case.</summary>
public enum FaultClass : byte
{
    None = 0,

    /// <summary>The line or the drive's answer is missing.</summary>
    Link = 1,

    /// <summary>The drive restarted.</summary>
    Restart = 2,

    /// <summary>The supply left its band.</summary>
    Supply = 3,

    /// <summary>Too warm.</summary>
    Temperature = 4,

    /// <summary>The axis did not follow.</summary>
    Following = 5,

    /// <summary>A time ran out, or an end that was expected did not come.</summary>
    TimeOut = 6,

    /// <summary>Never recovered by itself: over-current, short circuit, encoder, brake, blocked motor, failed stop, wrong identity, unverified torque limit or parameter, channel discrepancy, standstill lost, passed limit.</summary>
    Grave = 7,

    /// <summary>The supervisor itself.</summary>
    Daemon = 8,

    /// <summary>A drive fault with no better name.</summary>
    Drive = 9,

    /// <summary>A warning: recorded and told, stops nothing and latches nothing.</summary>
    Warning = 10,
}
