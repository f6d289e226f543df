using System.Globalization;
using Supervisor.Api.V1;

namespace Supervisor.Daemon.Verbs.Drives;

/// <summary>Proofs of communication time-outs for people and programs.</summary>
internal static class TimeoutText
{
    public const string Caution =
        "Seen from outside: between the last frame before the silence and the first after it nobody knows where the axis was. A validated measurement of the whole chain decides on safety distances.";

    public static TimeoutProofStateJson? ToJson(TimeoutProof? proof) => proof is null ? null : new TimeoutProofStateJson(
        proof.State.ToString().ToLowerInvariant(), proof.TimeoutMs, proof.PassedTime is { } time ? Utc(time) : null, proof.PassedTime is null ? null : proof.TimeTrusted,
        proof.PassedTime is null ? null : proof.Velocity, proof.PassedTime is null ? null : proof.Distance, proof.Text);

    public static TimeoutProofJson ToJson(TimeoutProofRecord proof) => new(
        proof.Sequence == 0 ? null : proof.Sequence, proof.Time is { } time ? Utc(time) : null, proof.Time is null ? null : proof.TimeTrusted, proof.Axis, proof.Unit,
        Word(proof.Verdict), proof.Reaction, proof.TimeoutMs, proof.SilenceMs, proof.Velocity, proof.Distance,
        proof.HasAllowedDistance ? proof.AllowedDistance : null, proof.HasRestMs ? proof.RestMs : null, proof.HasOffMs ? proof.OffMs : null,
        proof.HasActedMs ? proof.ActedMs : null, (int)proof.DriveCode, proof.Holder);

    public static string Line(TimeoutProofRecord proof)
    {
        var verdict = proof.Verdict switch
        {
            TimeoutVerdict.Passed => "passed",
            TimeoutVerdict.DidNotAct => "failed, the drive did not act",
            TimeoutVerdict.TooLate => "failed, too late or too far",
            TimeoutVerdict.OtherReaction => "failed, another reaction than declared",
            _ => "unknown",
        };
        var from = proof.Velocity == 0 ? "at rest" : Invariant($"from {proof.Velocity:0.##} {proof.Unit}/s");
        var allowed = proof.HasAllowedDistance ? Invariant($" (at most {proof.AllowedDistance:0.###})") : "";
        var rest = proof.HasRestMs ? Invariant($"at rest after {proof.RestMs:0} ms") : "rest not seen";
        var off = proof.HasOffMs ? Invariant($"torque off after {proof.OffMs:0} ms") : "torque held";
        var acted = proof.HasActedMs ? Invariant($", braking from about {proof.ActedMs:0} ms") : "";
        var code = proof.DriveCode == 0 ? "" : Invariant($", drive code {proof.DriveCode:X4}h");
        var holder = proof.Holder.Length == 0 ? "" : $", for {proof.Holder}";
        return Invariant($"{Text.Time(proof.Time, proof.TimeTrusted)}  {proof.Axis}: {verdict}: time-out {proof.TimeoutMs:0.###} ms, {proof.Reaction}, {from}: {rest}, {proof.Distance:0.###} {proof.Unit}{allowed}{acted}, {off}{code}{holder}");
    }

    public static string Word(TimeoutVerdict verdict) => verdict switch
    {
        TimeoutVerdict.Passed => "passed",
        TimeoutVerdict.DidNotAct => "didNotAct",
        TimeoutVerdict.TooLate => "tooLate",
        TimeoutVerdict.OtherReaction => "otherReaction",
        _ => "unknown",
    };

    private static string Utc(Google.Protobuf.WellKnownTypes.Timestamp time) => time.ToDateTime().ToString("O", CultureInfo.InvariantCulture);

    private static string Invariant(FormattableString text) => FormattableString.Invariant(text);
}
