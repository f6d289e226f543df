namespace Supervisor.Runtime.Modules;

/// <summary>A module as its port's stepper knows it.</summary>
public struct ModuleSnapshot
{
    /// <summary>Monotonic time of its last good reply; zero before the first.</summary>
    public TimeSpan AnsweredAt;

    /// <summary>It answers: its last good reply is not older than its limit.</summary>
    public bool Online;

    /// <summary>Its communication time-out is set and read back, its outputs were read: they may be set.</summary>
    public bool OutputsReady;

    /// <summary>Failed among its last exchanges, percent.</summary>
    public double ErrorPercent;

    /// <summary>So many of its exchanges fail that none of its inputs counts as closed.</summary>
    public bool Distrusted;

    /// <summary>How often it was lost since the start.</summary>
    public int Losses;

    /// <summary>How often its outputs or settings were found changed by nobody here: it started anew.</summary>
    public int Restarts;
}

/// <summary>What a transaction of a module is for.</summary>
internal enum ModuleRequest : byte
{
    None = 0,

    /// <summary>The inputs are read.</summary>
    Inputs = 1,

    /// <summary>The communication time-out is read or set.</summary>
    Timeout = 2,

    /// <summary>Outputs are set as ordered.</summary>
    Output = 3,

    /// <summary>Outputs are read, to see that they are as they were left.</summary>
    ReadBack = 4,

    /// <summary>Outputs are set to what they are, because only writes feed the module's time-out.</summary>
    Feed = 5,

    /// <summary>The register that keeps the communication time-out is read, to see that it is as it was left.</summary>
    Time = 6,

    /// <summary>Outputs that were just set are read back.</summary>
    Confirm = 7,

    /// <summary>It is asked what it is.</summary>
    Identity = 8,
}
