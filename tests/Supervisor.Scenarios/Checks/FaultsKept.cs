using Supervisor.Records.Faults;
using Supervisor.Runtime.Axes;
using Supervisor.Runtime.Parameters;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Checks;

/// <summary>Every fault an axis latches or reports, and every warning of its heat, comes to the journal exactly once, soon, in order, under its own name.</summary>
public sealed class FaultsKept : Checker
{
    private static readonly TimeSpan Soon = TimeSpan.FromMilliseconds(50);
    private readonly FaultCode[] _latched;
    private readonly Queue<(TimeSpan At, FaultCode Code)>[] _expected;
    private readonly Queue<(TimeSpan At, FaultCode Code)>[] _warnings;
    private readonly HashSet<(short Index, ParameterMeasure Measure)>[] _parameters;
    private readonly bool[] _isHot;
    private readonly bool[] _isOverdue;
    private readonly bool[] _isDisturbed;
    private readonly int[] _loads;

    public FaultsKept(StoryWorld world)
        : base(world)
    {
        ArgumentNullException.ThrowIfNull(world);
        _latched = new FaultCode[world.Machine.Axes.Count];
        _expected = [.. world.Machine.Axes.Select(_ => new Queue<(TimeSpan, FaultCode)>())];
        _warnings = [.. world.Machine.Axes.Select(_ => new Queue<(TimeSpan, FaultCode)>())];
        _parameters = [.. world.Machine.Axes.Select(_ => new HashSet<(short, ParameterMeasure)>())];
        _isHot = new bool[_latched.Length];
        _isOverdue = new bool[_latched.Length];
        _isDisturbed = new bool[_latched.Length];
        _loads = new int[_latched.Length];
    }

    /// <summary>A planted bug: one in so many faults never comes to the journal; 0 for none.</summary>
    public int LosesOneIn { get; set; }

    /// <inheritdoc/>
    public override void OnKill()
    {
        foreach (var queue in _expected.Concat(_warnings))
        {
            queue.Clear();
        }

        Array.Clear(_isHot);
        Array.Clear(_isOverdue);
        Array.Clear(_isDisturbed);
        Array.ForEach(_parameters, known => known.Clear());
    }

    /// <inheritdoc/>
    public override void OnStart()
    {
        for (var axis = 0; axis < _loads.Length; axis++)
        {
            _loads[axis] = World.Loads.IsUnfinished(axis) ? 1 : 0;
        }
    }

    /// <inheritdoc/>
    public override void OnPosted(int axis, ParameterJob job)
    {
        // What a load wrote is compared anew after it.
        _parameters[axis].Clear();
        _loads[axis] += job.Writes ? 1 : 0;
    }

    /// <inheritdoc/>
    public override void OnTransaction(int port)
    {
        for (var axis = 0; axis < _isHot.Length; axis++)
        {
            // A drive with a bad line is told once, until its share of failed exchanges has fallen below half of the warning's.
            var limits = World.Machine.Ports[World.Machine.Axes[axis].Port].ErrorRate;
            _isDisturbed[axis] &= World.Snapshot(axis).ErrorPercent * 2 >= limits.WarningPercent;
            if (World.Machine.Axes[axis] is not { Heating: { } heating } definition || definition.Port != port)
            {
                continue;
            }

            // Told once when it is reached, and again only after it was 5 % of the trip value below.
            var heat = World.Snapshot(axis).HeatPercent;
            if (!_isHot[axis] && heat >= heating.WarnAt)
            {
                _isHot[axis] = true;
                _warnings[axis].Enqueue((Now, FaultCode.HeatingWarning));
            }

            _isHot[axis] &= heat >= heating.WarnAt - 5;
        }
    }

    /// <inheritdoc/>
    public override void OnRow(int axis, in AxisRow row)
    {
        if (row.On == AxisEvent.Contacted)
        {
            _parameters[axis].Clear();
        }

        _isOverdue[axis] &= row is not { From: AxisNode.ProofBrakeReleasing, On: AxisEvent.DeadlinePassed } and not { On: AxisEvent.ProofUnrelieved };
        if ((row.Effects & (AxisEffects.Latch | AxisEffects.Report)) != 0)
        {
            var isLatched = (row.Effects & AxisEffects.Latch) != 0;
            var code = World.Supervisor!.Axes[axis].Fault;
            _latched[axis] = isLatched ? code : _latched[axis];
            _expected[axis].Enqueue((Now, isLatched ? code : FaultCode.None));
        }
    }

    /// <inheritdoc/>
    public override void OnFault(in FaultEvent fault)
    {
        if (fault.Axis < 0)
        {
            return;
        }

        Looks++;
        if (LosesOneIn > 0 && Looks % LosesOneIn == 0)
        {
            return;
        }

        if (fault.Code == FaultCode.DriveErrorsFrequent)
        {
            if (_isDisturbed[fault.Axis])
            {
                Find(fault.Axis, "its bad line was told twice");
            }

            _isDisturbed[fault.Axis] = true;
            return;
        }

        if (fault.Code == FaultCode.BrakeProofOverdue)
        {
            // Told by the coordinator, once until a proof has passed.
            if (_isOverdue[fault.Axis] || World.Machine.Axes[fault.Axis].Brake?.Proof?.Every is null)
            {
                Find(fault.Axis, "a proof of its brake was told as overdue though it was told before, or none is asked for");
            }

            _isOverdue[fault.Axis] = true;
            return;
        }

        if (fault.Code is FaultCode.ParameterDiffers or FaultCode.ParameterFoundDifferent && !IsNext(fault))
        {
            // Told beside what is latched: once for each parameter and what was done about it with every meeting of the drive.
            if (!_parameters[fault.Axis].Add((fault.Parameter.Index, fault.Parameter.Measure)))
            {
                Find(fault.Axis, $"{fault.Code} of parameter {fault.Parameter.Index} came to the journal twice");
            }

            return;
        }

        if (fault.Code == FaultCode.ParametersIncomplete && !IsNext(fault))
        {
            // Told beside what is latched: once for each load that left its set in part.
            if (--_loads[fault.Axis] < 0)
            {
                Find(fault.Axis, $"{fault.Code} came to the journal more often than sets were loaded");
            }

            return;
        }

        var queue = fault.Code == FaultCode.HeatingWarning ? _warnings : _expected;
        if (!queue[fault.Axis].TryDequeue(out var expected))
        {
            if (!FaultCatalogue.MayRecover(fault.Code) && (FaultCatalogue.MayRecover(_latched[fault.Axis])
                || FaultCatalogue.Entry(fault.Code).Priority > FaultCatalogue.Entry(_latched[fault.Axis]).Priority))
            {
                // A graver one takes the place of one that might have been recovered from, or that is less urgent: never twice the same.
                _latched[fault.Axis] = fault.Code;
                return;
            }

            Find(fault.Axis, $"{fault.Code} came to the journal, but was not latched or came before");
        }
        else if (expected.Code != FaultCode.None && expected.Code != fault.Code)
        {
            Find(fault.Axis, $"{fault.Code} came to the journal where {expected.Code} was latched");
        }
    }

    /// <inheritdoc/>
    public override void OnStep()
    {
        for (var axis = 0; axis < _expected.Length; axis++)
        {
            LookForLate(axis, _expected[axis]);
            LookForLate(axis, _warnings[axis]);
        }
    }

    private bool IsNext(in FaultEvent fault) => _expected[fault.Axis].TryPeek(out var next) && next.Code == fault.Code;

    private void LookForLate(int axis, Queue<(TimeSpan At, FaultCode Code)> queue)
    {
        if (queue.TryPeek(out var expected) && Now - expected.At > Soon + World.HeldUpFor)
        {
            queue.Dequeue();
            Find(axis, $"{expected.Code} was latched at {expected.At.TotalSeconds:0.0000} s and did not come to the journal");
        }
    }
}
