using System.CommandLine;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Verbs.Drives;

/// <summary><c>drive prove-timeout AXIS</c> and <c>drive timeouts</c>: shows at commissioning that a drive stops by itself when nobody speaks to it.</summary>
internal static class TimeoutVerbs
{
    private const int MostListed = 1_000_000;
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(10);

    public static Command Prove()
    {
        var axis = DriveVerb.Axis();
        var by = Numbers.Option(
            "--by", "DISTANCE",
            "The way the axis may go at most, from where it is, with its sign: a drive that does nothing stops at its end. Without it the axis stands, and only the reaction is proven.",
            required: false);
        var velocity = Numbers.Option("--velocity", "V", "Velocity in unit/s; otherwise the machine file's jog velocity.", required: false);
        var confirm = new Option<bool>("--confirm") { Description = "The way is clear, an emergency stop is at hand, and the axis may be stopped by its drive alone." };
        var json = ClientOptions.Json();
        var verb = new Command(
            "prove-timeout",
            "Leave the drive of an axis unasked for longer than its communication time-out and measure how it stops. Maintenance mode; the axis is disabled afterwards. Not a safety function.")
        {
            axis, by, velocity, confirm, json,
        };
        MotionRun.Add(verb, parsed =>
        {
            var request = new ProveTimeoutRequest { Axis = parsed.GetRequiredValue(axis), By = parsed.GetValue(by) ?? 0, Confirm = parsed.GetValue(confirm) };
            if (parsed.GetValue(velocity) is { } given)
            {
                request.Velocity = given;
            }

            TimeoutProofRecord? proof = null;
            return new MotionRun
            {
                Verb = "drive prove-timeout",
                Axes = [request.Axis],
                Wait = true,
                Json = parsed.GetValue(json),
                Print = result => Print(result, proof),
                Describe = ended => $"{ended.Message}\n{TimeoutText.Caution}",
                Give = (daemon, token, wait, cancellation) =>
                {
                    request.AuthorityToken = token;
                    return CommandRun.FollowAsync(
                        daemon.Drive.ProveTimeout(request, cancellationToken: cancellation),
                        answer =>
                        {
                            proof = answer.Proof ?? proof;
                            return answer.Event;
                        },
                        wait, cancellation);
                },
            };
        });
        return verb;
    }

    public static Command List()
    {
        var limit = Numbers.Integer("--limit", "N", "Most proofs to list.", 1, MostListed, 50);
        var axis = new Option<string?>("--axis") { Description = "Only proofs of this axis.", HelpName = "AXIS" };
        var (json, server) = (ClientOptions.Json(), ClientOptions.Server());
        var verb = new Command("timeouts", "List proofs of communication time-outs, newest first.") { axis, limit, json, server };
        verb.SetAction((parsed, cancellation) => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            async (daemon, ends) =>
            {
                var proofs = await ListAsync(daemon, parsed.GetValue(axis) ?? "", parsed.GetValue(limit), ends);
                if (parsed.GetValue(json))
                {
                    JsonOut.Print(new TimeoutProofsJson([.. proofs.Select(TimeoutText.ToJson)]), JsonShapes.Readable.TimeoutProofsJson);
                    return ExitCode.Done;
                }

                proofs.ForEach(proof => Console.Out.WriteLine(TimeoutText.Line(proof)));
                Console.Out.WriteLine(proofs.Count == 0 ? "no communication time-out was proven" : TimeoutText.Caution);
                return ExitCode.Done;
            },
            cancellation));
        return verb;
    }

    private static async Task<List<TimeoutProofRecord>> ListAsync(DaemonConnection daemon, string axis, int limit, CancellationToken cancellation)
    {
        var proofs = new List<TimeoutProofRecord>();
        var token = "";
        do
        {
            var page = await daemon.Drive.ListTimeoutProofsAsync(
                new ListTimeoutProofsRequest { Axis = axis, PageSize = limit - proofs.Count, PageToken = token }, deadline: DateTime.UtcNow + Patience, cancellationToken: cancellation);
            proofs.AddRange(page.Proofs);
            token = page.NextPageToken;
        }
        while (token.Length > 0 && proofs.Count < limit);
        return proofs;
    }

    private static void Print(CommandResult result, TimeoutProofRecord? proof)
    {
        var (outcome, reason, message) = result switch
        {
            { Refusal: { } refusal } => (refusal.Reason.Length > 0 ? "refused" : "lost", refusal.Reason, refusal.Message),
            { Ended: { } ended } => (Text.Of(ended.Outcome), ended.Reason, ended.Message),
            _ => ("accepted", "", ""),
        };
        JsonOut.Print(
            new ProvedTimeoutJson(result.CommandId, outcome, reason.Length > 0 ? reason : null, message, proof is null ? null : TimeoutText.ToJson(proof)),
            JsonShapes.Readable.ProvedTimeoutJson);
    }
}
