namespace Supervisor.Configuration.Signals;

/// <summary>Colour of a signal light, by its meaning for the state of a machine (IEC 60073, table of colours; IEC 60204-1, 10.3.2; both from memory).</summary>
public enum SignalColour
{
    /// <summary>Emergency: a hazard, act at once.</summary>
    Red = 0,

    /// <summary>Abnormal: something is wrong or about to be.</summary>
    Yellow = 1,

    /// <summary>Mandatory: a person must do something.</summary>
    Blue = 2,

    /// <summary>Normal.</summary>
    Green = 3,

    /// <summary>Neutral: no meaning of its own.</summary>
    White = 4,
}
