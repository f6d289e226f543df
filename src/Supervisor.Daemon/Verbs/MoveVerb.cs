using System.CommandLine;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Verbs;

/// <summary><c>move AXIS POSITION [AXIS POSITION]… [--by] [--velocity V] [--acceleration A]</c>.</summary>
internal static class MoveVerb
{
    public static Command Build()
    {
        var pairs = new Argument<string[]>("AXIS POSITION")
        {
            Description = "An axis and where it goes, in its unit; several pairs begin together.",
            Arity = ArgumentArity.OneOrMore,
        };
        pairs.Validators.Add(result =>
        {
            if (!TryRead([.. result.Tokens.Select(token => token.Value)], by: false, out _, out var problem))
            {
                result.AddError(problem);
            }
        });
        var by = new Option<bool>("--by") { Description = "The numbers are distances from the last target." };
        var velocity = Numbers.Option("--velocity", "V", "Velocity in unit/s; otherwise each axis's limit.", required: false);
        var acceleration = Numbers.Option("--acceleration", "A", "Acceleration in unit/s²; otherwise each axis's limit.", required: false);
        var noWait = ClientOptions.NoWait();
        var json = ClientOptions.Json();
        var verb = new Command("move", "Move axes and wait until they have arrived.") { pairs, by, velocity, acceleration, noWait, json };
        MotionRun.Add(verb, parsed =>
        {
            _ = TryRead(parsed.GetValue(pairs) ?? [], parsed.GetValue(by), out var targets, out _);
            return new MotionRun
            {
                Verb = "move",
                Axes = [.. targets.Select(target => target.Axis)],
                Wait = !parsed.GetValue(noWait),
                Json = parsed.GetValue(json),
                Give = (daemon, token, wait, cancellation) =>
                {
                    var request = new MoveRequest { AuthorityToken = token, Targets = { targets } };
                    if (parsed.GetValue(velocity) is { } value)
                    {
                        request.Velocity = value;
                    }

                    if (parsed.GetValue(acceleration) is { } starts)
                    {
                        request.Acceleration = starts;
                    }

                    return CommandRun.FollowAsync(daemon.Motion.Move(request, cancellationToken: cancellation), answer => answer.Event, wait, cancellation);
                },
            };
        });
        return verb;
    }

    internal static bool TryRead(IReadOnlyList<string> words, bool by, out IReadOnlyList<MoveTarget> targets, out string problem)
    {
        var read = new List<MoveTarget>();
        targets = read;
        problem = "";
        if (words.Count % 2 != 0)
        {
            problem = $"a position is missing behind '{words[^1]}': give pairs of an axis and a number, such as `move {words[0]} 30`";
            return false;
        }

        for (var i = 0; i < words.Count; i += 2)
        {
            if (!Numbers.TryParse(words[i + 1], out var value))
            {
                problem = $"'{words[i + 1]}' is not a number: give pairs of an axis and a number, such as `move {words[i]} 30`";
                return false;
            }

            read.Add(by ? new MoveTarget { Axis = words[i], Distance = value } : new MoveTarget { Axis = words[i], Position = value });
        }

        return true;
    }
}
