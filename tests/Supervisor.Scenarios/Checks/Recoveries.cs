using Supervisor.Configuration.Machines;
using Supervisor.Machine;
using Supervisor.Machine.Api;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Axes;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Checks;

/// <summary>
/// An axis comes back by itself only as the machine file says: after a fault of a class it names and the catalogue permits, so often
/// within its window, and no farther than it says.
/// </summary>
public sealed class Recoveries : Checker
{
    private readonly Watched[] _axes;

    public Recoveries(StoryWorld world)
        : base(world)
    {
        ArgumentNullException.ThrowIfNull(world);
        _axes = [.. world.Machine.Axes.Select(_ => new Watched())];
    }

    /// <summary>A planted bug: the file permits nothing.</summary>
    public bool PermitsNothing { get; set; }

    /// <inheritdoc/>
    public override void OnStart()
    {
        foreach (var axis in _axes)
        {
            (axis.Rule, axis.ResetsBy) = (null, []);
        }
    }

    /// <inheritdoc/>
    public override void OnRecovery(in RecoveryNote note)
    {
        if (note.Change == RecoveryChange.Begun)
        {
            _axes[note.Axis].Rule = RuleOf(note.Axis, note.After);
            if (_axes[note.Axis].Rule is null)
            {
                Find(note.Axis, $"a recovery from {note.After} began, which the file does not name or the catalogue forbids");
            }
        }
    }

    /// <inheritdoc/>
    public override void OnRow(int axis, in AxisRow row)
    {
        var watched = _axes[axis];
        if ((row.Effects & AxisEffects.Latch) != 0)
        {
            watched.Latched = World.Supervisor!.Axes[axis].Fault;
        }
        else if (row is { From: AxisNode.FaultOff, On: AxisEvent.ResetGiven } && !IsAPersons<ResetCommand>(axis))
        {
            NoteOwnReset(axis, watched);
        }
        else if (row is { From: AxisNode.Off, On: AxisEvent.EnableGiven or AxisEvent.HomeGiven } && !IsAPersons<EnableCommand>(axis) && !IsAPersons<HomeCommand>(axis))
        {
            Looks++;
            var permitted = watched.Rule?.Then switch
            {
                RecoveryAction.ResetAndEnable => row.On == AxisEvent.EnableGiven,
                RecoveryAction.ResetAndHome => row.On == (World.Machine.Axes[axis].Homing is null ? AxisEvent.EnableGiven : AxisEvent.HomeGiven),
                _ => false,
            };
            if (!permitted)
            {
                Find(axis, $"{row.On} by no person, and its recovery says {watched.Rule?.Then}");
            }
        }
    }

    private void NoteOwnReset(int axis, Watched watched)
    {
        Looks++;
        if (RuleOf(axis, watched.Latched) is not { } rule)
        {
            Find(axis, $"{watched.Latched} was reset by no person, and the file does not permit it");
            return;
        }

        var resets = watched.ResetsBy.TryGetValue(rule, out var known) ? known : watched.ResetsBy[rule] = [];
        resets.RemoveAll(at => Now - at >= rule.Within);
        resets.Add(Now);
        if (resets.Count > rule.Attempts)
        {
            Find(axis, $"{watched.Latched} was reset {resets.Count} times within {rule.Within.TotalSeconds:0} s by no person; the file permits {rule.Attempts}");
        }
    }

    private bool IsAPersons<T>(int axis)
        where T : MachineCommand => World.Open.Any(given => given.Command is T && given.Concerns(axis));

    private RecoveryDefinition? RuleOf(int axis, FaultCode code)
    {
        var entry = FaultCatalogue.Entry(code);
        return PermitsNothing || !entry.MayRecover ? null : World.Machine.Axes[axis].Recovery.FirstOrDefault(rule => rule.Faults.Contains(entry.Class));
    }

    private sealed class Watched
    {
        public FaultCode Latched { get; set; }

        public RecoveryDefinition? Rule { get; set; }

        public Dictionary<RecoveryDefinition, List<TimeSpan>> ResetsBy { get; set; } = [];
    }
}
