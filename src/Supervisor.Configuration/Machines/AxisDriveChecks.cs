using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>What an axis asks of its drive: nothing the definition does not declare, nothing its registers can't hold.</summary>
internal static class AxisDriveChecks
{
    public static void Check(ObjectReader axis, AxisDefinition draft)
    {
        CheckTorque(axis, draft);
        CheckFollowingError(axis, draft);
        CheckGravity(axis, draft);
        CheckHardStop(axis, draft);
        CheckUnknownPosition(axis, draft);
        BrakeReader.CheckDrive(axis, draft);
        Fits(axis, "brake.proof.torque", draft.Brake?.Proof?.Torque ?? 0, "%", draft.Drive.CommandField(FieldNames.TorqueLimit));
        CheckPosition(axis, draft);
        CheckVelocityAndRamps(axis, draft);
        CheckHomingParameters(axis, draft);
        if (axis.Find("communicationTimeoutMs") is not null)
        {
            Fits(axis, "communicationTimeoutMs", draft.CommunicationTimeout.TotalMilliseconds, "ms", draft.Drive.Parameter(FieldNames.CommunicationTimeout));
        }
    }

    private static void CheckTorque(ObjectReader axis, AxisDefinition draft)
    {
        if (draft.Torque is not { } torque)
        {
            return;
        }

        if (draft.Drive.CommandField(FieldNames.TorqueLimit) is not { } limit)
        {
            axis.Refuse("torque", $"drive {Show.Quoted(draft.Drive.Name)} declares no command field \"torqueLimit\": these limits could not be kept");
            return;
        }

        Fits(axis, "torque.homing", torque.Homing, "%", limit);
        Fits(axis, "torque.moving", torque.Moving, "%", limit);
        Fits(axis, "torque.holding", torque.Holding, "%", limit);
        Fits(axis, "torque.contact", torque.Contact, "%", limit);
        Fits(axis, "torque.stopping", torque.Stopping, "%", limit);
    }

    /// <summary>A following error is told by the drive, or computed from a profile whose speed and ramp are commanded; else nothing would watch.</summary>
    private static void CheckFollowingError(ObjectReader axis, AxisDefinition draft)
    {
        var drive = draft.Drive;
        if (draft.FollowingError is null || drive.FeedbackField(FieldNames.FollowingError) is not null)
        {
            return;
        }

        var commandsRamp = drive.CommandField(FieldNames.ProfileAcceleration) is not null
            || (drive.CommandField(FieldNames.AccelerationTime) is not null && drive.RampTimes is not null);
        var missing = (drive.CommandField(FieldNames.ProfileVelocity) is null, commandsRamp) switch
        {
            (true, true) => Show.Quoted(FieldNames.ProfileVelocity),
            (true, false) => $"{Show.Quoted(FieldNames.ProfileVelocity)} and {Show.Quoted(FieldNames.ProfileAcceleration)}",
            (false, false) => Show.Quoted(FieldNames.ProfileAcceleration),
            _ => null,
        };
        if (missing is not null)
        {
            axis.Refuse(
                "followingError",
                $"drive {Show.Quoted(drive.Name)} neither tells its following error (feedback field {Show.Quoted(FieldNames.FollowingError)}) nor takes {missing}, "
                + "by which it is computed: nothing would be watched; declare what the drive has, or take followingError out and rely on the drive's own window");
        }
    }

    /// <summary>A limit that the load alone nearly takes would let it sink in that phase.</summary>
    private static void CheckGravity(ObjectReader axis, AxisDefinition draft)
    {
        if (draft.GravityTorque is not { } gravity)
        {
            return;
        }

        var least = gravity * TorqueReader.GravityMargin;
        var torque = draft.Torque ?? new TorqueDefinition(100, 100, 100, 100, 100);
        (string Member, double Limit)[] limits =
        [
            ("torque.homing", torque.Homing), ("torque.moving", torque.Moving), ("torque.holding", torque.Holding),
            ("torque.contact", torque.Contact), ("torque.stopping", torque.Stopping), ("homing.hardStop.torque", draft.Homing?.HardStop?.Torque ?? double.NaN),
        ];
        foreach (var (member, limit) in limits.Where(entry => entry.Limit < least))
        {
            axis.Refuse(
                member,
                $"{Show.Number(limit)} % is too little to hold the load: gravityTorque {Show.Number(gravity)} % and a margin of 25 % make {Show.Number(least)} %");
        }
    }

    /// <summary>A way is measured from a position, which a drive with a number for "not known" may not have before its homing.</summary>
    private static void CheckUnknownPosition(ObjectReader axis, AxisDefinition draft)
    {
        if (draft.Drive.FeedbackField(FieldNames.Position) is not { Sentinels.Count: > 0 })
        {
            return;
        }

        if (draft.Homing?.HardStop is not null)
        {
            axis.Refuse("homing.hardStop", $"drive {Show.Quoted(draft.Drive.Name)} may not know its position before it is homed, by which the pressing is supervised; home it by a method of the drive");
        }

        if (draft.Homing?.DistanceLimit is not null)
        {
            axis.Refuse("homing.distanceLimit", $"drive {Show.Quoted(draft.Drive.Name)} may not know its position before it is homed, so that no way can be measured; take it out and bound the time");
        }
    }

    /// <summary>Pressing is felt by the reported torque and bounded by the commanded limit; the zero is set by the drive's method.</summary>
    private static void CheckHardStop(ObjectReader axis, AxisDefinition draft)
    {
        if (draft.Homing?.HardStop is not { } stop)
        {
            return;
        }

        var drive = draft.Drive;
        if (drive.FeedbackField(FieldNames.Torque) is null || drive.CommandField(FieldNames.TorqueLimit) is null)
        {
            axis.Refuse("homing.hardStop", $"drive {Show.Quoted(drive.Name)} must declare the feedback field \"torque\" and the command field \"torqueLimit\": the stop is found by them");
        }

        if (drive.Coding != StateCoding.Cia402 || drive.Parameter(FieldNames.HomingMethod) is not { Access: not RegisterAccess.Read })
        {
            axis.Refuse(
                "homing.hardStop",
                $"drive {Show.Quoted(drive.Name)} has no writable parameter \"homingMethod\": the zero at the stop could not be set by its method {draft.Homing.Method}");
        }

        var homing = draft.Torque?.Homing ?? 100;
        if (stop.Torque > homing)
        {
            axis.Refuse("homing.hardStop.torque", $"{Show.Number(stop.Torque)} % is above torque.homing {Show.Number(homing)} %: it would never be met");
        }
    }

    private static void CheckPosition(ObjectReader axis, AxisDefinition draft)
    {
        var perUnit = draft.CountsPerUnit * (draft.Inverted ? -1 : 1);
        foreach (var field in new[] { draft.Drive.CommandField(FieldNames.TargetPosition), draft.Drive.FeedbackField(FieldNames.Position) })
        {
            Fits(axis, "limits.position", (draft.Limits.LowerPosition ?? 0) * perUnit, "counts", field);
            Fits(axis, "limits.position", (draft.Limits.UpperPosition ?? 0) * perUnit, "counts", field);
            Fits(axis, "endless.period", (draft.EndlessPeriod ?? 0) * perUnit, "counts", field);
        }
    }

    private static void CheckVelocityAndRamps(ObjectReader axis, AxisDefinition draft)
    {
        var drive = draft.Drive;
        var counts = draft.CountsPerUnit;
        Fits(axis, "limits.velocity", draft.Limits.Velocity * counts, "counts/s", drive.CommandField(FieldNames.ProfileVelocity));
        Fits(axis, "limits.acceleration", draft.Limits.Acceleration * counts, "counts/s²", drive.CommandField(FieldNames.ProfileAcceleration));
        Fits(axis, "limits.deceleration", draft.Limits.Deceleration * counts, "counts/s²", drive.CommandField(FieldNames.ProfileDeceleration));
        CheckRampTime(axis, draft, "limits.acceleration", draft.Limits.Acceleration, FieldNames.AccelerationTime);
        CheckRampTime(axis, draft, "limits.deceleration", draft.Limits.Deceleration, FieldNames.DecelerationTime);
    }

    /// <summary>A time must fit its register, and its steps must not make another ramp of it.</summary>
    private static void CheckRampTime(ObjectReader axis, AxisDefinition draft, string member, double rate, string name)
    {
        const double coarsest = 0.1;
        if (draft.Drive.RampTimes is not { } times || draft.Drive.CommandField(name) is not { } field || !double.IsFinite(rate))
        {
            return;
        }

        var timeMs = times.TimeMs(rate * draft.CountsPerUnit, draft.Limits.Velocity * draft.CountsPerUnit);
        Fits(axis, member, timeMs, "ms", field);
        if (field.Scale > timeMs * coarsest)
        {
            axis.Refuse(member, $"is a ramp of {Show.Number(Math.Round(timeMs, 3))} ms, which {Show.Quoted(name)} of drive {Show.Quoted(draft.Drive.Name)} takes in steps of {Show.Number(field.Scale)} ms; give a gentler ramp, of 10 steps or more");
        }
    }

    private static void CheckHomingParameters(ObjectReader axis, AxisDefinition draft)
    {
        if (draft.Homing is not { } homing)
        {
            return;
        }

        var counts = draft.CountsPerUnit;
        Fits(axis, "homing.method", homing.Method, "as homing method", draft.Drive.Parameter(FieldNames.HomingMethod));
        Fits(axis, "homing.fast", homing.Fast * counts, "counts/s", draft.Drive.Parameter(FieldNames.HomingSpeedFast));
        Fits(axis, "homing.slow", homing.Slow * counts, "counts/s", draft.Drive.Parameter(FieldNames.HomingSpeedSlow));
        Fits(axis, "homing.offset", homing.Offset * counts, "counts", draft.Drive.Parameter(FieldNames.HomeOffset));
    }

    private static void Fits(ObjectReader axis, string member, double value, string unit, RegisterField? field)
    {
        if (field is null || field.Scale == 0)
        {
            return;
        }

        var (least, most) = field.Range;
        var raw = Math.Round(value / field.Scale);
        if (raw < least || raw > most)
        {
            axis.Refuse(
                member,
                $"{Show.Number(value)} {unit} would be {Show.Number(raw)} in the drive's {Show.Quoted(field.Name)}, which holds {least} to {most}");
        }
    }
}
