using System.CommandLine;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Verbs;

/// <summary><c>contact AXIS --toward P --torque T --velocity V</c>.</summary>
internal static class ContactVerb
{
    public static Command Build()
    {
        var axis = new Argument<string>("AXIS") { Description = "Name of the axis." };
        var toward = Numbers.Option("--toward", "P", "Farthest position, in the axis's unit.", required: true);
        var torque = Numbers.Option("--torque", "T", "Torque that ends the move, percent of rated.", required: true);
        var velocity = Numbers.Option("--velocity", "V", "Velocity in unit/s.", required: true);
        var noWait = ClientOptions.NoWait();
        var json = ClientOptions.Json();
        var verb = new Command("contact", "Move an axis until it meets something; failed when it comes to the farthest position first.")
        {
            axis, toward, torque, velocity, noWait, json,
        };
        MotionRun.Add(verb, parsed =>
        {
            var request = new ContactRequest
            {
                Axis = parsed.GetRequiredValue(axis),
                Toward = parsed.GetRequiredValue(toward) ?? double.NaN,
                Torque = parsed.GetRequiredValue(torque) ?? double.NaN,
                Velocity = parsed.GetRequiredValue(velocity) ?? double.NaN,
            };
            return new MotionRun
            {
                Verb = "contact",
                Axes = [request.Axis],
                Wait = !parsed.GetValue(noWait),
                Json = parsed.GetValue(json),
                Give = (daemon, token, wait, cancellation) =>
                {
                    request.AuthorityToken = token;
                    return CommandRun.FollowAsync(daemon.Motion.Contact(request, cancellationToken: cancellation), answer => answer.Event, wait, cancellation);
                },
            };
        });
        return verb;
    }
}
