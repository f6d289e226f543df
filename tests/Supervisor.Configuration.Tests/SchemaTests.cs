using System.Text.Json;
using System.Text.Json.Nodes;
using Json.Schema;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Reading;
using Supervisor.Configuration.Routines;

namespace Supervisor.Configuration.Tests;

public sealed class SchemaTests
{
    private static readonly JsonSchema Machine = JsonSchema.FromText(Schemas.Machine);
    private static readonly JsonSchema Drive = JsonSchema.FromText(Schemas.Drive);
    private static readonly JsonSchema Routine = JsonSchema.FromText(Schemas.Routine);

    public static TheoryData<string, string> GoodFiles() => new()
    {
        { "Examples", "machine.json" },
        { "Examples", "reference.drive.json" },
        { "Examples", "bits.drive.json" },
        { "Examples", "sow-tray.routine.json" },
        { "Examples", "everything.json" },
        { "Examples", "everything.drive.json" },
        { "Examples", "everything.routine.json" },
        { "demo", "machine.json" },
        { "demo", "reference.drive.json" },
        { "demo", "sow-tray.routine.json" },
    };

    [Theory]
    [MemberData(nameof(GoodFiles))]
    public void Schema_GoodFile_Validates(string folder, string name)
    {
        var json = EditedJson.Parse(Path.Combine(AppContext.BaseDirectory, folder, name));

        Assert.True(IsValid(SchemaOf(name), json));
    }

    /// <summary>Draft 2020-12 says itself what a schema is.</summary>
    [Fact]
    public void Schema_ItsOwnText_ValidatesAgainstTheDraft()
    {
        foreach (var text in new[] { Schemas.Machine, Schemas.Drive, Schemas.Routine })
        {
            Assert.True(IsValid(MetaSchemas.Draft202012, JsonNode.Parse(text)!));
        }
    }

    [Theory]
    [InlineData("machine")]
    [InlineData("drive")]
    [InlineData("routine")]
    public void Schema_ItsObjects_HaveTheMembersTheReaderKnows(string file)
    {
        var (text, shapes) = file switch
        {
            "machine" => (Schemas.Machine, MachineShapes.All),
            "drive" => (Schemas.Drive, DriveShapes.All),
            _ => (Schemas.Routine, RoutineShapes.All),
        };
        var defined = JsonNode.Parse(text)!["$defs"]!.AsObject().Where(entry => entry.Value!["properties"] is not null).ToDictionary(entry => entry.Key, entry => entry.Value!);

        Assert.Equal(shapes.Select(shape => shape.Name).Order(), defined.Keys.Order());
        Assert.All(shapes, shape =>
        {
            Assert.Equal(shape.Members.Order(), defined[shape.Name]["properties"]!.AsObject().Select(property => property.Key).Order());
            Assert.False(defined[shape.Name]["additionalProperties"]!.GetValue<bool>());
        });
    }

    /// <summary>
    /// Each member of a file that has them all is taken out, given an unknown neighbour and set to values of every wrong kind: what the schema refuses,
    /// the reader refuses; and the reader tells of every wrong kind at its member, which proves that it reads each member it knows.
    /// </summary>
    [Theory]
    [InlineData("everything.json")]
    [InlineData("everything.drive.json")]
    [InlineData("everything.routine.json")]
    [InlineData("bits.drive.json")]
    public void Read_WhatTheSchemaRefuses_IsRefused(string name)
    {
        var refused = 0;
        foreach (var (json, path) in Mutations(name))
        {
            var errors = Read(name, json);
            if (!IsValid(SchemaOf(name), json))
            {
                refused++;
                Assert.True(errors.Count > 0, $"schema refuses, reader does not: {path}");
            }

            if (path.EndsWith(" = null", StringComparison.Ordinal))
            {
                Assert.Contains(errors, error => error.Path == path[..^" = null".Length]);
            }
        }

        Assert.True(refused > 100, $"{refused} mutations were refused: too few to prove anything");
    }

    private static IEnumerable<(JsonNode Json, string Path)> Mutations(string name)
    {
        var good = EditedJson.Parse(Samples.Example(name));
        foreach (var place in Places(good, ""))
        {
            foreach (var value in new string?[] { null, "null", "true", "0", "-1.5", "1e20", "\"\"", "\"x\"", "[]", "[0]", "{}", "{ \"x\": 0 }" })
            {
                var copy = good.DeepClone();
                SetAt(copy, place, value);
                yield return (copy, $"{place} = {value ?? "(out)"}");
            }
        }
    }

    /// <summary>Paths of all members; the examples' names need no quoting in a path.</summary>
    private static IEnumerable<string> Places(JsonNode? node, string path)
    {
        var children = node switch
        {
            JsonObject members => members.Select(member => (Path: MemberPath.Append(path, member.Key), member.Value)),
            JsonArray items => items.Select((item, i) => (Path: MemberPath.Append(path, i), Value: item)),
            _ => [],
        };
        return children.SelectMany(child => Places(child.Value, child.Path).Prepend(child.Path));
    }

    private static void SetAt(JsonNode root, string path, string? json)
    {
        var steps = System.Text.RegularExpressions.Regex.Matches(path, @"\[\d+\]|[^.\[\]]+").Select(match => match.Value).ToArray();
        var parent = root;
        foreach (var step in steps[..^1])
        {
            parent = step[0] == '[' ? parent[int.Parse(step[1..^1])]! : parent[step]!;
        }

        var last = steps[^1];
        if (parent is JsonArray array)
        {
            array[int.Parse(last[1..^1])] = json is null ? null : JsonNode.Parse(json);
        }
        else if (json is null)
        {
            parent.AsObject().Remove(last);
        }
        else
        {
            parent[last] = JsonNode.Parse(json);
        }
    }

    private static IReadOnlyList<FileError> Read(string name, JsonNode json)
    {
        using var folder = new TestFolder();
        File.Copy(Samples.Example("everything.drive.json"), folder.At("everything.drive.json"));
        if (name.EndsWith(".drive.json", StringComparison.Ordinal))
        {
            return DriveDefinitionFile.Read(folder.Write("x.drive.json", json.ToJsonString())).Errors;
        }

        return name.EndsWith(".routine.json", StringComparison.Ordinal)
            ? RoutineFile.Read(folder.Write("x.routine.json", json.ToJsonString()), Samples.Machine(Samples.Example("everything.json"))).Errors
            : MachineFile.Read(folder.Write("x.json", json.ToJsonString())).Errors;
    }

    private static JsonSchema SchemaOf(string name) =>
        name.EndsWith(".drive.json", StringComparison.Ordinal) ? Drive : name.EndsWith(".routine.json", StringComparison.Ordinal) ? Routine : Machine;

    private static bool IsValid(JsonSchema schema, JsonNode json) =>
        schema.Evaluate(json.Deserialize<JsonElement>(), new EvaluationOptions { OutputFormat = OutputFormat.Flag }).IsValid;
}
