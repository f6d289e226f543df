using System.CommandLine;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Verbs;

/// <summary><c>move AXIS POSITION [AXIS POSITION]… [options]</c>.</summary>
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
            if (!TryRead([.. result.Tokens.Select(token => token.Value)], out _, out var problem))
            {
                result.AddError(problem);
            }
        });
        var options = new MoveOptions();
        var noWait = ClientOptions.NoWait();
        var json = ClientOptions.Json();
        var verb = new Command("move", "Move axes and wait until they have arrived.") { pairs };
        options.AddTo(verb, noWait);
        verb.Add(noWait);
        verb.Add(json);
        MotionRun.Add(verb, parsed =>
        {
            _ = TryRead(parsed.GetValue(pairs) ?? [], out var targets, out _);
            var request = options.Read(parsed, targets);
            return new MotionRun
            {
                Verb = "move",
                Axes = [.. targets.Select(target => target.Axis)],
                Wait = !parsed.GetValue(noWait),
                Json = parsed.GetValue(json),
                Give = (daemon, token, wait, cancellation) =>
                {
                    request.AuthorityToken = token;
                    return CommandRun.FollowAsync(daemon.Motion.Move(request, cancellationToken: cancellation), answer => answer.Event, wait, cancellation);
                },
            };
        });
        return verb;
    }

    /// <summary>Pairs of an axis and a number; what the number means is the options' affair.</summary>
    internal static bool TryRead(IReadOnlyList<string> words, out IReadOnlyList<MoveTarget> targets, out string problem)
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

            read.Add(new MoveTarget { Axis = words[i], Position = value });
        }

        return true;
    }
}
