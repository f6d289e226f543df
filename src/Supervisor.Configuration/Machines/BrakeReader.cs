using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads the holding brake of an axis and how it is proven.</summary>
internal static class BrakeReader
{
    // How much farther than the permitted movement the target is set, where the file does not say: the position loop has to ask for the whole torque.
    private const double DefaultReach = 4;

    private static readonly Choices<ProofDirection> Directions = new(
        ("both", ProofDirection.Both), ("positive", ProofDirection.Positive), ("negative", ProofDirection.Negative));

    private static readonly Choices<OverdueProof> Overdue = new(("warn", OverdueProof.Warn), ("refuse", OverdueProof.Refuse));

    public static BrakeDefinition? Read(ObjectReader axis, string unit, double countsPerUnit)
    {
        if (axis.Object("brake", MachineShapes.Brake) is not { } brake)
        {
            return null;
        }

        var range = new NumberRange(0, 10_000, Milliseconds.Unit);
        return new BrakeDefinition(
            Milliseconds.ToTime(brake.Number("releaseMs", range, "time from torque on to the brake open")),
            Milliseconds.ToTime(brake.Number("closeMs", range, "time from closing the brake to its holding")))
        {
            Proof = ReadProof(brake, unit, countsPerUnit),
        };
    }

    /// <summary>What a proof needs of its drive: it must be told to keep the brake closed, bounded in its torque, and say what torque it gives.</summary>
    public static void CheckDrive(ObjectReader axis, AxisDefinition draft)
    {
        if (draft.Brake?.Proof is not { } proof)
        {
            return;
        }

        var drive = draft.Drive;
        if (drive.HoldBrake is null || drive.CommandField(FieldNames.TorqueLimit) is null || drive.FeedbackField(FieldNames.Torque) is null)
        {
            axis.Refuse(
                "brake.proof",
                $"drive {Show.Quoted(drive.Name)} must declare \"holdBrake\", the command field \"torqueLimit\" and the feedback field \"torque\": "
                + "the brake is kept closed by the first, the torque bounded by the second and seen by the third");
        }

        var least = draft.GravityTorque * TorqueReader.GravityMargin;
        if (proof.Torque < least)
        {
            axis.Refuse(
                "brake.proof.torque",
                $"{Show.Number(proof.Torque)} % would only take the load off the brake: gravityTorque {Show.Number(draft.GravityTorque!.Value)} % and a margin of 25 % make {Show.Number(least.Value)} %");
        }
    }

    private static BrakeProofDefinition? ReadProof(ObjectReader brake, string unit, double countsPerUnit)
    {
        if (brake.Object("proof", MachineShapes.BrakeProof) is not { } proof)
        {
            return null;
        }

        var torque = proof.Number("torque", NumberRange.Above0("% of rated", 300), "torque of the motor against the closed brake");
        var time = proof.Number("forMs", NumberRange.Above0(Milliseconds.Unit, 60_000), "how long the brake must hold it");
        var movement = proof.Number("movement", NumberRange.Above0(unit), "farthest the axis may move while the brake holds");
        if (movement * countsPerUnit < 1)
        {
            proof.Refuse("movement", $"{Show.Number(movement)} {unit} is less than one count of the drive; it could not be seen");
        }

        var reach = proof.Number("reach", NumberRange.Above0(unit), movement * DefaultReach);
        if (reach <= movement)
        {
            proof.Refuse("reach", $"{Show.Number(reach)} {unit} is not beyond the permitted movement of {Show.Number(movement)} {unit}: a brake that slips would not show");
        }

        var hours = proof.Find("everyHours") is null ? (double?)null : proof.Number("everyHours", NumberRange.Above0("h", 8784), 0);
        var grace = proof.Number("graceHours", new NumberRange(0, 8784, "h"), 0);
        var overdue = proof.Choice("whenOverdue", Overdue, OverdueProof.Warn) ?? default;
        foreach (var member in new[] { "graceHours", "whenOverdue" })
        {
            if (hours is null && proof.Find(member) is not null)
            {
                proof.Refuse(member, "counts from the interval between proofs; give \"everyHours\" as well");
            }
        }

        if (hours is not null && overdue == OverdueProof.Warn && proof.Find("graceHours") is not null)
        {
            proof.Refuse("graceHours", "is the time until motion is refused; say \"whenOverdue\": \"refuse\", or take it out");
        }

        return new BrakeProofDefinition(torque, Milliseconds.ToTime(time), movement, reach)
        {
            Direction = proof.Choice("direction", Directions, ProofDirection.Both) ?? default,
            Every = hours is { } every && !double.IsNaN(every) ? TimeSpan.FromHours(every) : null,
            Grace = double.IsNaN(grace) ? TimeSpan.Zero : TimeSpan.FromHours(grace),
            WhenOverdue = overdue,
        };
    }
}
