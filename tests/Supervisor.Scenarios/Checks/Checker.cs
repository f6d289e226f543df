using Supervisor.Machine;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Axes;
using Supervisor.Runtime.Parameters;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Checks;

/// <summary>Watches one rule of the machine. It sees what happens the moment it happens, and compares what the supervisor says with what the plants do.</summary>
public abstract class Checker(StoryWorld world)
{
    /// <summary>Name in findings.</summary>
    public string Name => GetType().Name;

    /// <summary>How often it looked at something that its rule is about: a rule that was never put to the test proves nothing.</summary>
    public long Looks { get; protected set; }

    protected StoryWorld World { get; } = world;

    protected TimeSpan Now => World.Queue.Now;

    /// <summary>A request's first byte goes out.</summary>
    public virtual void OnFrame(int port, ReadOnlySpan<byte> frame)
    {
    }

    /// <summary>A port's stepper has taken the end of a transaction.</summary>
    public virtual void OnTransaction(int port)
    {
    }

    /// <summary>The coordinator has stepped; all plants are advanced to this instant.</summary>
    public virtual void OnStep()
    {
    }

    /// <summary>The same interval while no supervisor runs.</summary>
    public virtual void OnAbsence()
    {
    }

    /// <summary>An axis took a row of its table.</summary>
    public virtual void OnRow(int axis, in AxisRow row)
    {
    }

    /// <summary>An axis took a command, with the row that does so.</summary>
    /// <param name="axis">Index of the axis.</param>
    /// <param name="row">The row.</param>
    /// <param name="given">The command as somebody gave it; null when nobody gave one of this id, or its end was seen long ago.</param>
    public virtual void OnTaken(int axis, in AxisRow row, GivenCommand? given)
    {
    }

    /// <summary>A command was submitted.</summary>
    public virtual void OnCommand(GivenCommand given)
    {
    }

    /// <summary>A command's end was seen.</summary>
    public virtual void OnEnd(GivenCommand given)
    {
    }

    /// <summary>A fault came to the journal.</summary>
    public virtual void OnFault(in FaultEvent fault)
    {
    }

    /// <summary>Parameters of an axis's drive are about to be given to it to be read or loaded.</summary>
    public virtual void OnPosted(int axis, ParameterJob job)
    {
    }

    /// <summary>A recovery's step came to the journal.</summary>
    public virtual void OnRecovery(in RecoveryNote note)
    {
    }

    /// <summary>An interlock's change came to the journal.</summary>
    public virtual void OnInterlock(int interlock, InterlockChange change)
    {
    }

    /// <summary>A record was handed to the history.</summary>
    public virtual void OnTold(ToldRecord told)
    {
    }

    /// <summary>The history said what became of a record.</summary>
    /// <param name="told">The record.</param>
    /// <param name="sequence">Its number on disk; 0: lost.</param>
    public virtual void OnAcknowledged(ToldRecord told, long sequence)
    {
    }

    /// <summary>The disk has stored a record.</summary>
    public virtual void OnStored(in StoredRow row)
    {
    }

    /// <summary>A record came to the disk under a number that another one has.</summary>
    public virtual void OnClash(long sequence)
    {
    }

    /// <summary>A supervisor has begun to run over the plants as they are.</summary>
    public virtual void OnStart()
    {
    }

    /// <summary>The supervisor is gone; the plants live on.</summary>
    public virtual void OnKill()
    {
    }

    protected void Find(int axis, string what) => World.Find(new Finding(Now, Name, axis < 0 ? "" : World.Machine.Axes[axis].Name, what));
}

/// <summary>Something that must not be.</summary>
/// <param name="At">Simulated time since boot.</param>
/// <param name="Checker">Whose rule is broken.</param>
/// <param name="Axis">Name of the axis; empty when it is about none.</param>
/// <param name="What">What was seen and what the rule allows.</param>
public sealed record Finding(TimeSpan At, string Checker, string Axis, string What)
{
    /// <inheritdoc/>
    public override string ToString() => $"{At.TotalSeconds:0.0000} s {Checker} {Axis}: {What}";
}
