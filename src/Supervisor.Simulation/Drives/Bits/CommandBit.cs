using Supervisor.Configuration.Drives;

namespace Supervisor.Simulation.Drives.Bits;

/// <summary>One command bit of a drive: its level, and its rising edge until the next step has seen it.</summary>
internal sealed class CommandBit(RegisterBank bank, BitReference? reference)
{
    private readonly RegisterValue? _field = reference is { } known ? bank.Commanded(known.Field) : null;
    private bool _seen;

    /// <summary>True while it is 1.</summary>
    public bool IsSet => _field is not null && ((_field.Raw >> reference!.Value.Bit) & 1) != 0;

    /// <summary>True when it became 1 since the last step.</summary>
    public bool Rose { get; private set; }

    /// <summary>True when its level acts, not its edge.</summary>
    public bool IsLevel => reference is { Rising: false };

    /// <summary>True when it acts now: on its edge, or by its level, as the definition says.</summary>
    public bool Acts => IsLevel ? IsSet : Rose;

    /// <summary>True from the step that saw its edge until the bit is taken back: what a drive that acknowledges tells.</summary>
    public bool IsAcknowledged { get; private set; }

    /// <summary>Looks at it after a write.</summary>
    public void Look()
    {
        bool set = IsSet;
        Rose |= set && !_seen;
        IsAcknowledged &= set;
        _seen = set;
    }

    /// <summary>The step has seen the edge.</summary>
    public void Forget()
    {
        IsAcknowledged |= Rose && IsSet;
        Rose = false;
    }

    /// <summary>The drive starts again: the bit counts as 0.</summary>
    public void Restart()
    {
        _seen = false;
        IsAcknowledged = false;
        Rose = false;
    }
}
