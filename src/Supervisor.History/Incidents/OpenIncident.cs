using Supervisor.History.Entries;
using Supervisor.Records.Axes;

namespace Supervisor.History.Incidents;

/// <summary>An incident that more may come to.</summary>
internal sealed class OpenIncident(long id, TimeSpan firstAt)
{
    // A storm of faults: consequences are looked for among its first ones, and among these the cause is.
    private const int MostRemembered = 128;

    private readonly Dictionary<string, AxisTrouble> _troubles = new(StringComparer.Ordinal);
    private readonly List<PlacedFault> _faults = [];

    public long Id { get; } = id;

    public TimeSpan FirstAt { get; } = firstAt;

    /// <summary>Number of the fault that leads; the incident's own where something else does.</summary>
    public long Lead { get; set; } = id;

    /// <summary>When what leads was seen.</summary>
    public TimeSpan LeadAt { get; set; } = firstAt;

    /// <summary>From when on the window counts.</summary>
    public TimeSpan LastAt { get; private set; } = firstAt;

    /// <summary>Its faults in the order of writing.</summary>
    public IReadOnlyList<PlacedFault> Faults => _faults;

    /// <summary>True while an axis of it is not back.</summary>
    public bool HasTroubles => _troubles.Count > 0;

    public AxisTrouble? TroubleOf(string axis) => _troubles.GetValueOrDefault(axis);

    public void Extend(TimeSpan at) => LastAt = at > LastAt ? at : LastAt;

    public void Add(long sequence, FaultRecord fault)
    {
        Extend(fault.At);
        if (_faults.Count < MostRemembered)
        {
            _faults.Add(new PlacedFault(sequence, fault));
        }

        if (fault.Axis is { } axis)
        {
            var wasOn = fault.State is AxisState.Ready or AxisState.Moving or AxisState.Homing || _troubles.GetValueOrDefault(axis) is { WasOn: true };
            _troubles[axis] = new AxisTrouble(wasOn);
        }
    }

    public void Note(RecoveryRecord step)
    {
        Extend(step.At);
        if (_troubles.TryGetValue(step.Axis, out var trouble))
        {
            trouble.IsRecovering = step.Step is RecoveryStep.Begun or RecoveryStep.Failed;
        }
    }

    public void Note(ReturnRecord back)
    {
        if (_troubles.TryGetValue(back.Axis, out var trouble))
        {
            trouble.IsCleared = true;
            if (back.Step == ReturnStep.Ready || !trouble.WasOn)
            {
                _troubles.Remove(back.Axis);
            }
        }
    }

    /// <summary>The axis belongs to a later incident.</summary>
    public void Forget(string axis) => _troubles.Remove(axis);

    /// <summary>A supervisor that starts anew knows nothing of what an axis had latched before.</summary>
    public void ForgetAxes() => _troubles.Clear();
}

/// <summary>A fault of an incident.</summary>
internal readonly record struct PlacedFault(long Sequence, FaultRecord Record);

/// <summary>How far a faulted axis is.</summary>
internal sealed class AxisTrouble(bool wasOn)
{
    /// <summary>It was in use: only once it is ready again is it back.</summary>
    public bool WasOn { get; } = wasOn;

    public bool IsRecovering { get; set; }

    /// <summary>The fault is cleared; it may still be off.</summary>
    public bool IsCleared { get; set; }
}
