using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Axes;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Checks;

/// <summary>
/// A brake is proven on its plant: while the rest of the machine stands, with the brake closed under the whole torque. One that holds too
/// little never passes, a good one never fails, and where the file refuses moves of an axis whose proof is overdue none begins.
/// </summary>
public sealed class BrakeProofs : Checker
{
    // The position loop's tail, and what is still on a wire.
    private static readonly TimeSpan Settling = TimeSpan.FromMilliseconds(250);
    private static readonly TimeSpan Untroubled = TimeSpan.FromSeconds(1);

    // A command may wait for the end of the move before it.
    private static readonly TimeSpan Waiting = TimeSpan.FromSeconds(30);

    // A push counts from this share of its torque.
    private const double Reached = 0.9;

    private readonly Watched[] _axes;

    public BrakeProofs(StoryWorld world)
        : base(world)
    {
        ArgumentNullException.ThrowIfNull(world);
        _axes = [.. world.Machine.Axes.Select(_ => new Watched())];
    }

    /// <inheritdoc/>
    public override void OnRow(int axis, in AxisRow row)
    {
        var watched = _axes[axis];
        if (row.On == AxisEvent.ProofGiven)
        {
            watched.Begin(Now);
        }
        else if (row.On == AxisEvent.SupportGiven && !World.Open.Any(given => given.Command is ResetCommand { LoadSupported: true } && given.Concerns(axis)))
        {
            Find(axis, "a load was taken from its motor as supported, and no person said so");
        }
        else if (row.From == AxisNode.ProvingBrake)
        {
            Looks++;
            Judge(axis, watched, row);
        }
    }

    /// <inheritdoc/>
    public override void OnTaken(int axis, in AxisRow row, GivenCommand? given)
    {
        if (row.On != AxisEvent.MoveGiven || given?.Command is not (MoveCommand or ContactCommand)
            || World.Machine.Axes[axis].Brake?.Proof is not { WhenOverdue: OverdueProof.Refuse, Every: { } every } proof)
        {
            return;
        }

        Looks++;
        if (Now - _axes[axis].PassedAt > every + proof.Grace + Waiting)
        {
            Find(axis, $"{given} moves it, and its brake was last proven at {_axes[axis].PassedAt.TotalSeconds:0} s: every {every.TotalSeconds:0} s are asked for");
        }
    }

    /// <inheritdoc/>
    public override void OnStep()
    {
        for (var axis = 0; axis < _axes.Length; axis++)
        {
            var plant = World.Plant.Drives[axis].Plant;
            var watched = _axes[axis];
            watched.JammedAt = plant.Jammed ? Now : watched.JammedAt;
            watched.MovesSince = plant.Powered && !IsProving(axis) && !IsExcused(axis) && Math.Abs(plant.Velocity) > World.Machine.Axes[axis].Limits.Velocity * 0.03
                ? watched.MovesSince ?? Now : null;
        }

        for (var axis = 0; axis < _axes.Length; axis++)
        {
            if (IsProving(axis))
            {
                Looks++;
                LookAtBrake(axis, _axes[axis]);
                LookAtOthers(axis, _axes[axis]);
            }
        }
    }

    private void LookAtBrake(int axis, Watched watched)
    {
        var plant = World.Plant.Drives[axis].Plant;
        var holds = plant.BrakeWorn ? 0 : plant.BrakeTorque;
        var proof = World.Machine.Axes[axis].Brake!.Proof!;
        (watched.Least, watched.Most) = (Math.Min(watched.Least, holds), Math.Max(watched.Most, holds));
        watched.IsTroubled |= IsExcused(axis) || World.Plant.Drives[axis].LargestTorqueLimit < proof.Torque;
        if (World.Supervisor!.Axes[axis].Node == AxisNode.ProvingBrake && plant.Powered && !plant.BrakeClosed && Math.Abs(plant.Torque) > proof.Torque * 0.7 && !watched.IsTroubled)
        {
            Find(axis, $"pushes with {plant.Torque:0.#} % against a brake that is open");
        }
    }

    private void LookAtOthers(int axis, Watched watched)
    {
        for (var other = 0; other < _axes.Length; other++)
        {
            var line = World.Lines[World.Machine.Axes[other].Port];
            var seen = line.Reaction + Settling;
            if (other != axis && _axes[other].MovesSince is { } since && Now - since > seen && Now - watched.BegunAt > seen)
            {
                Find(axis, $"its brake is proven while {World.Machine.Axes[other].Name} moves at {World.Plant.Drives[other].Plant.Velocity:0.###}");
                _axes[other].MovesSince = null;
            }
        }
    }

    private void Judge(int axis, Watched watched, in AxisRow row)
    {
        var proof = World.Machine.Axes[axis].Brake!.Proof!;
        var settings = World.Plant.Drives[axis].Plant.Settings;
        var gravity = Math.Abs(settings.Gravity);
        if (row.To == AxisNode.ProofBrakeReleasing || row.On == AxisEvent.ProofUnrelieved)
        {
            watched.PassedAt = Now;
            if (watched.Most + settings.CoulombFriction < (proof.Torque * Reached) - gravity && !watched.IsTroubled)
            {
                Find(axis, $"its brake holds {watched.Most:0.#} % at most and has passed a proof with {proof.Torque:0.#} %");
            }
        }
        else if ((row.Effects & AxisEffects.Latch) != 0 && World.Supervisor!.Axes[axis].Fault == FaultCode.BrakeProofFailed
            && watched.Least > proof.Torque + gravity && !watched.IsTroubled)
        {
            Find(axis, $"its brake holds {watched.Least:0.#} % and has failed a proof with {proof.Torque:0.#} %");
        }
    }

    private bool IsProving(int axis) => World.Supervisor!.Axes[axis].Node is AxisNode.ProofBrakeClosing or AxisNode.ProvingBrake or AxisNode.ProofBrakeReleasing;

    /// <summary>What nobody can see or stop: a line that loses frames, a drive that starts anew, what was jammed and makes its way good.</summary>
    private bool IsExcused(int axis) => World.Lines[World.Machine.Axes[axis].Port].IsTroubled || Now - World.SilentAt(axis) < Untroubled
        || Now - _axes[axis].JammedAt < Untroubled || World.Plant.Drives[axis].IsFaulted;

    private sealed class Watched
    {
        public TimeSpan BegunAt { get; private set; }

        public TimeSpan PassedAt { get; set; } = TimeSpan.MinValue / 2;

        public TimeSpan JammedAt { get; set; } = TimeSpan.MinValue / 2;

        public TimeSpan? MovesSince { get; set; }

        public double Least { get; set; }

        public double Most { get; set; }

        public bool IsTroubled { get; set; }

        public void Begin(TimeSpan now) => (BegunAt, Least, Most, IsTroubled) = (now, double.PositiveInfinity, 0, false);
    }
}
