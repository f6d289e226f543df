using Supervisor.Configuration.Drives;

namespace Supervisor.Simulation.Drives;

/// <summary>How a master talks to the drive: one implementation for each coding of states and commands.</summary>
internal interface IDriveFront
{
    /// <summary>Code of the fault or of the last warning; 0 for none.</summary>
    ushort ErrorCode { get; }

    /// <summary>True while a fault is latched.</summary>
    bool IsFaulted { get; }

    /// <summary>The state in words, for people.</summary>
    string StateName { get; }

    /// <summary>Told of what it does once for each time it is told to.</summary>
    Action<DriveAct>? Acted { get; set; }

    /// <summary>Registers were written; edges are found here and acted on in the next step.</summary>
    void Written();

    /// <summary>One step before the axis moves.</summary>
    void Step();

    /// <summary>Puts state bits into the registers.</summary>
    void Tell();

    /// <summary>A fault arose.</summary>
    void Raise(ushort code);

    /// <summary>Nobody spoke to the drive for too long.</summary>
    void CommunicationLost(TimeoutReaction reaction);

    /// <summary>The drive starts again.</summary>
    void Restart();
}
