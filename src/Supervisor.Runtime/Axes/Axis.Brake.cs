using Supervisor.Configuration.Machines;
using Supervisor.Drives.Coding;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Runtime.Axes;

/// <content>The brake: what it must hold when it has taken the load over, when it is kept closed under torque, and its proof against the motor.</content>
/// <remarks>
/// The motor is made to push by a target a little off, with its torque limited to the proof's: a brake that lets go leaves the axis there, where a
/// torque without a target would let it run. This is not the safe brake test (SBT) of IEC 61800-5-2: nothing of it is fail-safe.
/// </remarks>
public sealed partial class Axis
{
    // As long as a motor may need to build its torque up against the brake, or to take it back.
    private static readonly TimeSpan ProofPatience = TimeSpan.FromSeconds(2);

    // What the motor may give more or less than before the proof when the brake opens: a share of the proof's torque.
    private const double RelievedShare = 0.25;

    // What a load may settle while its brake takes it over.
    private static readonly TimeSpan RestGrace = TimeSpan.FromMilliseconds(100);

    private TimeSpan _restFrom;
    private bool _restKnown;
    private double _takeoverCounts = double.NaN;
    private TimeSpan _brakeToldAt;
    private double _proofPlace;
    private double _proofMovement;
    private double _torqueBefore;
    private TimeSpan _pushingSince;
    private TimeSpan _relievingSince;
    private int _pushDirection;
    private bool _pushes;

    // What was pressed against keeps pushing the axis: the brake would be proven against that.
    private Refusal RefuseProof() =>
        Definition.Brake?.Proof is null ? Refusal.NoBrakeProof
        : Math.Abs(_velocity) >= _restVelocity || _pressing ? Refusal.AxisBusy
        : Awaited(AxisEvent.ProofGiven);

    /// <summary>First way, second way, relief; each with its patience, so that the time of the whole is only used up where the torque never comes.</summary>
    private TimeSpan ProofTime
    {
        get
        {
            var proof = Definition.Brake!.Proof!;
            var ways = proof.Direction == ProofDirection.Both ? 2 : 1;
            return ((proof.For + ProofPatience) * ways) + (ProofPatience * 2);
        }
    }

    /// <summary>A node was entered: the bit that keeps the brake closed stands from where it is to close until it is to open, or torque is off.</summary>
    private void OperateBrake(TimeSpan now)
    {
        NotePlace(now);
        switch (_node)
        {
            case AxisNode.ProofBrakeClosing:
                _torqueBefore = Torque;
                _proofMovement = 0;
                TellBrake(closed: true);
                break;
            case AxisNode.ProvingBrake:
                _proofPlace = Counts;
                _relievingSince = TimeSpan.MaxValue;
                Push(Definition.Brake!.Proof!.Direction == ProofDirection.Negative ? -1 : 1);
                break;
            case AxisNode.FaultHolding:
                HoldHere();
                break;
            case AxisNode.BrakeClosing or AxisNode.FaultBrakeClosing:
                // Closed under torque: a load that is to hang on it does not sag meanwhile.
                TellBrake(closed: true);
                break;
            case AxisNode.ProofBrakeReleasing or AxisNode.Off or AxisNode.FaultOff:
                TellBrake(closed: false);
                _pushes = false;
                break;
        }
    }

    private void TellBrake(bool closed)
    {
        Coding.PutHoldBrake(Image, closed);
        _brakeToldAt = TimeSpan.MaxValue;
    }

    /// <summary>The times of a brake that is told by a bit count from the feedback after which the drive surely has it.</summary>
    private bool AwaitsBrake(TimeSpan now)
    {
        var time = _node switch
        {
            AxisNode.ProofBrakeClosing => Definition.Brake!.Close,
            AxisNode.ProofBrakeReleasing => Definition.Brake!.Release,
            _ => TimeSpan.MinValue,
        };
        return time >= TimeSpan.Zero && (_brakeToldAt == TimeSpan.MaxValue || now - _brakeToldAt < time);
    }

    /// <summary>Where it came to rest is where the brake must keep it; after a cut of power in motion nobody knows that place before the brake holds.</summary>
    private void NotePlace(TimeSpan now)
    {
        switch (_node)
        {
            case AxisNode.BrakeClosing or AxisNode.FaultBrakeClosing:
                _takeoverCounts = Counts;
                break;
            case AxisNode.Off or AxisNode.FaultOff:
                _restFrom = now + (Definition.Brake?.Close ?? TimeSpan.Zero) + RestGrace;
                _restKnown = false;
                break;
            case not (AxisNode.PoweringOff or AxisNode.FaultPoweringOff):
                _takeoverCounts = double.NaN;
                break;
        }
    }

    /// <summary>On its brake, or about to be: what sinks now is held by too little.</summary>
    private void SuperviseBrake(TimeSpan now)
    {
        if (_isPlaceUnknown || !(Definition.GravityLoaded || Definition.Brake is not null))
        {
            return;
        }

        if (Math.Abs(_scale.ToUnit(Counts - _takeoverCounts)) > StandstillWindow)
        {
            _takeoverCounts = double.NaN;
            SeeFault(FaultCode.StandstillLostOnBrake, 0, now);
        }

        if (_node is not (AxisNode.Off or AxisNode.FaultOff) || now < _restFrom)
        {
            return;
        }

        if (!_restKnown)
        {
            _takeoverCounts = double.NaN;
            _stayCounts = Counts;
            _restKnown = true;
        }
        else if (HasLeftItsPlace && _fault != FaultCode.BrakeSlip)
        {
            SeeFault(FaultCode.BrakeSlip, 0, now);
        }
    }

    /// <summary>Lays out the target by which the motor pushes; with 0 the one by which it leaves off.</summary>
    private void Push(int direction)
    {
        _pushDirection = direction;
        _pushingSince = TimeSpan.MaxValue;
        LayOutPush(_proofPlace + _scale.ToCounts(direction * Definition.Brake!.Proof!.Reach));
    }

    private void LayOutPush(double counts)
    {
        _targetCounts = Math.Round(counts / Coding.TargetScale) * Coding.TargetScale;
        _hasTarget = false;
        _moveTaken = false;
        var limits = Definition.Limits;
        Coding.PutMove(
            Image, _targetCounts, _scale.ToCountRate(limits.Velocity * ProofSpeedShare), _scale.ToCountRate(limits.Acceleration), _scale.ToCountRate(limits.Deceleration));
    }

    // So slow that a brake which lets go is seen before the axis has gone the whole way.
    private const double ProofSpeedShare = 0.05;

    private void WatchProof(TimeSpan now)
    {
        if (_brakeToldAt == TimeSpan.MaxValue && Image.NextChanged() < 0)
        {
            _brakeToldAt = now;
        }

        if (_node != AxisNode.ProvingBrake)
        {
            return;
        }

        var proof = Definition.Brake!.Proof!;
        _proofMovement = Math.Max(_proofMovement, Math.Abs(_scale.ToUnit(Counts - _proofPlace)));
        if (_proofMovement > proof.Movement)
        {
            FailProof(now);
        }
        else if (_pushDirection == 0)
        {
            WatchRelief(proof, now);
        }
        else if (_moveTaken)
        {
            WatchPush(proof, now);
        }
    }

    private void WatchPush(BrakeProofDefinition proof, TimeSpan now)
    {
        var pushes = _pushDirection * Torque >= proof.Torque * ContactShare;
        _pushingSince = !pushes ? TimeSpan.MaxValue : _pushingSince < now ? _pushingSince : now;
        if (!pushes || now - _pushingSince < proof.For)
        {
            return;
        }

        var isFirstOfTwo = proof.Direction == ProofDirection.Both && _pushDirection > 0;
        Push(isFirstOfTwo ? -1 : 0);
        _relievingSince = isFirstOfTwo ? TimeSpan.MaxValue : now;
        Begin(DriveGoal.Push, anew: true, now);
    }

    private void WatchRelief(BrakeProofDefinition proof, TimeSpan now)
    {
        if (_moveTaken && Math.Abs(Torque - _torqueBefore) <= proof.Torque * RelievedShare)
        {
            Raise(AxisEvent.ProofPassed, now);
        }
        else if (now - _relievingSince >= ProofPatience)
        {
            Raise(AxisEvent.ProofUnrelieved, now);
        }
    }
}
